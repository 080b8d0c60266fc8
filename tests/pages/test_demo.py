"""The demo as loaded: what it promises to show, on any day, something of every kind
that the program knows among it. One file: telling it takes long."""

import json
import shutil
from datetime import date

import pytest
from django.core.management import call_command
from django.db import transaction
from django.test import override_settings
from django.urls import reverse

from maintenance.calculators.models import KeptFigure
from maintenance.components.axles import check_axles
from maintenance.components.models import Component, Fitting
from maintenance.core.reckon import reckon
from maintenance.findings.models import Finding, FindingState, Severity
from maintenance.findings.queries import open_findings
from maintenance.households.models import Household, Member, Role
from maintenance.pages.demo.providing import fixtures, remove_demo
from maintenance.pages.demo.story import read_story
from maintenance.pages.demo.telling import tell
from maintenance.plans.models import Completion, Deferral, Standing
from maintenance.plans.queries import due_standings, load_rigs, standings_of
from maintenance.plans.standings import recheck
from maintenance.reminders.models import FindingNotice, Notice
from maintenance.reminders.services import raise_notices
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.models import (
    Attachment,
    LinkKind,
    Merge,
    ServiceRecord,
    TorquePlace,
    UnfiledPhoto,
)
from maintenance.service_records.proof import path_of
from maintenance.service_records.queries import fixed_by, found_by
from maintenance.supplies.models import Supply, Tool
from maintenance.troubleshooting.models import TroubleOutcome
from maintenance.vehicles.models import (
    Event,
    FuelStop,
    Manual,
    MeterReplacement,
    Reading,
    RunwaySetting,
    ScaleTicket,
    SevereDuty,
    Spot,
    Stay,
    Trip,
    WeightLabel,
)
from maintenance.walkrounds.models import WalkRound
from tests.pages.search.owners import QUERIES, missed
from tests.voice.banned import FORMS, WORDS, slips_in
from tests.voice.crawl import crawl

# In autumn, as the season closes; in spring, before a leap day, as one is to open.
AS_OF = date(2026, 11, 25)
ANOTHER_DAY = date(2024, 2, 20)
RIGS = {
    "Mule pickup": "tow_vehicle",
    "Bramble motorhome": "motorhome",
    "Dumpling fifth wheel": "fifth_wheel",
    "Pebble campervan": "campervan",
    "Thimble runabout": "towed_car",
}


def told(day):
    return tell(read_story(fixtures()), as_of=day, password="quiet-paper-lantern")


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker, tmp_path_factory):
    """Loaded once for this file, in a transaction that is rolled back at its end."""
    media = tmp_path_factory.mktemp("demo")
    with (
        django_db_blocker.unblock(),
        override_settings(MEDIA_ROOT=media),
        transaction.atomic(),
    ):
        yield told(AS_OF).pk, media
        transaction.set_rollback(True)


@pytest.fixture
def demo(loaded, db, settings):
    pk, settings.MEDIA_ROOT = loaded
    return Household.objects.get(pk=pk)


def standing(key, rig):
    return Standing.objects.get(item__key=key, item__rig__name__startswith=rig)


def names_by_item(household):
    """By title: it names the part, and a warranty's key differs each time."""
    rows = standings_of(household).values_list(
        "item__rig__name", "item__title", "standing"
    )
    return {(rig, title): name for rig, title, name in rows}


def test_household_has_five_rigs_and_one_member_of_each_role(demo):
    assert dict(demo.rigs.values_list("name", "kind")) == RIGS
    roles = Member.objects.for_household(demo).values_list("role", flat=True)
    assert sorted(roles) == sorted(Role.values)


def test_due_is_a_page_that_a_person_can_take_in(demo):
    rows = due_standings(demo)

    assert 8 <= rows.count() + open_findings(demo).count() <= 25
    standings = {row.standing for row in rows}
    assert standings >= {"overdue", "due", "unknown", "soon"}
    assert {row.item.rig.name for row in rows} == RIGS.keys() - {"Thimble runabout"}


def test_owners_find_first_what_their_own_words_mean(demo):
    assert len(QUERIES) == 120
    assert missed(demo, AS_OF) == []


def test_most_of_each_plan_is_on_record_or_stated(demo):
    for rig in demo.rigs.all():
        items = rig.plan_items.filter(dropped_on__isnull=True)
        unknown = Standing.objects.filter(item__in=items, standing="unknown")
        assert items.count() > (50 if rig.kind != "towed_car" else 10)
        assert unknown.count() <= 2


def test_recheck_of_all_standings_finds_no_difference(demo):
    assert recheck(demo, as_of=AS_OF) == []


def test_lug_recheck_of_the_motorhome_is_open_and_within_its_window(demo):
    row = standing("lug_recheck", "Bramble")
    last = Reading.objects.filter(
        meter__rig=row.item.rig, meter__kind="odometer"
    ).last()
    window = row.result["window"]

    assert row.standing == "due"
    assert row.item.safety
    assert window["opens"]["value"] <= last.value <= window["closes"]["value"]
    # Its second check falls due by miles, and the rig stands until spring.
    assert standing("lug_recheck_dual", "Bramble").standing == "waiting"


def test_some_is_overdue_safety_among_it_and_some_safety_has_no_record(demo):
    def safety(name):
        return due_standings(demo).filter(standing=name, item__safety=True).count()

    assert safety("overdue") >= 1
    assert safety("unknown") >= 1
    assert standing("tire_rotate", "Mule").governing == "every_distance"


def test_severe_duty_brings_the_campervan_s_oil_forward(demo):
    row = standing("engine_oil", "Pebble")

    assert SevereDuty.objects.get().rig.name == "Pebble campervan"
    assert row.standing == "due"
    assert any("severe" in values.values() for _key, values in row.why)


def test_rigs_stand_one_of_them_asks_for_a_visit_one_should_have_left(demo):
    stays = {stay.rig.name[:7]: stay for stay in Stay.objects.filter(ended_on=None)}

    assert stays.keys() == {"Bramble", "Dumplin", "Pebble "}
    assert all(stay.is_open(AS_OF) for stay in stays.values())
    assert stays["Pebble "].planned_until < AS_OF < stays["Bramble"].planned_until
    assert stays["Bramble"].visits.count() == 2
    assert RunwaySetting.objects.get().rig == stays["Bramble"].rig
    assert standing("watch_visit", "Dumpling").standing == "due"
    stored = Stay.objects.filter(ended_on__isnull=False).values_list("rig__name")
    assert {name for (name,) in stored} == {
        "Bramble motorhome",
        "Dumpling fifth wheel",
        "Pebble campervan",
    }


def test_towed_distance_is_that_of_the_trips_behind_the_pickup(demo):
    trips = Trip.objects.filter(rig__kind="fifth_wheel", end__lte=AS_OF)

    assert trips.count() >= 10
    assert {trip.tow_vehicle.name for trip in trips} == {"Mule pickup"}
    towed = sum(trip.unhitched_at - trip.hitched_at for trip in trips)
    rig = demo.rigs.get(kind="fifth_wheel")
    known = load_rigs([rig], AS_OF)[rig.pk]
    meters = reckon(known, calendar=demo.calendar, as_of=AS_OF).meters
    assert meters["towed"].known == towed


def test_one_odometer_was_replaced_and_one_reading_is_doubtful(demo):
    assert MeterReplacement.objects.get().meter.rig.name == "Pebble campervan"
    assert Reading.objects.get(doubtful=True).meter.rig.name == "Mule pickup"


def test_things_happened_and_a_nut_had_moved_once(demo):
    kinds = set(Event.objects.values_list("kind", flat=True))

    assert {"hail", "wheel_off", "curb_strike", "bearing_work"} <= kinds
    assert TorquePlace.objects.get(moved=True).place == "RR"
    assert Completion.objects.filter(outcome="moved").count() == 1


def test_one_finding_is_open_and_makes_unfit_others_were_fixed_by_work(demo):
    finding = open_findings(demo).get(what__startswith="Left rear marker")
    fixed = Finding.objects.filter(state=FindingState.FIXED)

    assert finding.unfit
    assert fixed.count() >= 3
    assert all(found_by(one) and fixed_by(one) for one in fixed)


def test_one_item_is_deferred_with_a_reason_and_the_day_it_was(demo):
    deferral = Deferral.objects.get(ended=False)

    assert deferral.why
    assert deferral.until > AS_OF
    assert deferral.made_at.astimezone(demo.zone).date() < AS_OF


def test_records_reach_back_four_years_few_entered_late(demo):
    records = ServiceRecord.objects.for_household(demo)
    late = [record for record in records if record.is_late_entry]

    assert records.count() > 200
    assert (AS_OF - records.last().on).days > 1400
    assert 1 <= len(late) <= 3
    assert all(record.entered_at.date() >= record.on for record in records)


def test_photos_and_invoices_are_attached_and_on_the_disk(demo):
    proofs = Attachment.objects.all()

    assert {proof.content_type for proof in proofs} == {"image/jpeg", "application/pdf"}
    assert all(proof.record and path_of(proof).stat().st_size for proof in proofs)
    assert len(proofs) >= 12


def test_due_shows_it_to_every_member(demo, client_as, clock):
    clock("2026-11-25 15:00", "America/Los_Angeles")
    for member in Member.objects.for_household(demo):
        page = client_as(member).get(reverse("due")).content.decode()
        assert "Re-check lug torque after a wheel was off" in page
        assert "Left rear marker light is out" in page


# --- every kind -----------------------------------------------------------------------


@pytest.mark.either_database
def test_no_page_that_a_keeper_reaches_says_what_is_banned(demo, client_as, clock):
    """Words and forms of `tests/voice/banned.py`, by following every link."""
    clock("2026-11-25 15:00", "America/Los_Angeles")
    keeper = Member.objects.for_household(demo).get(role=Role.KEEPER)

    pages = dict(crawl(client_as(keeper)))

    slips = [
        str(slip)
        for address, words in pages.items()
        for slip in slips_in(words, address, WORDS | FORMS)
    ]
    assert len(pages) > 200
    assert not slips, f"{len(slips)} slips\n" + "\n".join(slips)


@pytest.fixture
def motorhome(demo):
    return demo.rigs.get(kind="motorhome")


def test_wheels_have_tires_with_numbers_and_one_is_overdue_by_age(demo, motorhome):
    trailer = demo.rigs.get(kind="fifth_wheel")
    tires = {
        rig: {tire.place for tire in rig.components.filter(kind="tire")}
        for rig in (motorhome, trailer)
    }
    rows = Standing.objects.filter(item__key="tire_replace", standing="overdue")

    assert tires[motorhome] == {*motorhome.places, "SPARE"}
    assert tires[trailer] == set(trailer.places)
    assert not Component.objects.filter(kind="tire", serial="").exists()
    assert rows.get().item.component.place == "SPARE"


def test_record_of_the_new_tires_names_each_that_was_fitted(motorhome):
    record = motorhome.records.get(notes__startswith="Six new tires")

    places = {line.item.component.place for line in record.lines.all()}
    assert places == set(motorhome.places)


def test_front_tires_of_the_motorhome_carry_less_than_its_axle_may(motorhome):
    front, rear = check_axles(motorhome, motorhome.components.filter(kind="tire"))

    assert front.short
    assert front.margin > -200
    assert not rear.short


def test_a_cylinder_has_a_mark_and_another_came_from_another_rig(demo):
    marked = Component.objects.get(kind="cylinder", mark="E")
    moved = Fitting.objects.filter(component__kind="cylinder", end__isnull=False).get()

    assert marked.tested > marked.made
    assert moved.rig.kind == "motorhome"
    assert moved.component.rig.kind == "fifth_wheel"
    kinds = set(Component.objects.values_list("kind", "type"))
    assert {("alarm", "co_propane"), ("battery", "house")} <= kinds
    assert ("extinguisher", "disposable") in kinds


def test_records_show_a_long_invoice_whose_warranty_is_about_to_end(demo):
    record = ServiceRecord.objects.get(warranty_until__isnull=False)

    assert record.lines.count() == 6
    assert record.parts_used.count() == 4
    assert 0 < (record.warranty_until - AS_OF).days < 30
    assert Standing.objects.get(item=record.warranty_item).standing == "due"


def test_a_record_was_amended_one_voided_and_two_made_one(demo):
    kinds = {kind for rig in demo.rigs.all() for kind in kinds_linked(rig)}

    assert kinds == {
        LinkKind.ENTERED,
        LinkKind.AMENDED,
        LinkKind.VOIDED,
        LinkKind.MERGED,
    }
    assert ServiceRecord.objects.get(voided_at__isnull=False).rig.kind == "tow_vehicle"
    merge = Merge.objects.get()
    assert merge.record.entered_by != merge.into.entered_by


def kinds_linked(rig):
    texts = rig.chain.values_list("text", flat=True)
    return {json.loads(text)["kind"] for text in texts}


def test_chains_are_whole_and_little_waits_to_be_linked(demo):
    for rig in demo.rigs.all():
        found = verify(rig)
        assert not found.found
        assert found.head
        assert found.waiting <= 1


def test_verify_chain_command_finds_all_whole(demo, capsys):
    call_command("verify_chain")

    assert "Bramble motorhome" in capsys.readouterr().out


def test_another_torque_than_the_maker_s_was_asked_about_and_put_right(demo):
    finding = Finding.objects.get(what__contains="manufacturer's manual")

    assert finding.unfit
    assert finding.state == FindingState.FIXED
    assert fixed_by(finding).record.on > finding.found_on


def test_photos_wait_to_be_filed(demo):
    assert UnfiledPhoto.objects.filter(household=demo).count() == 2


def test_one_walk_round_is_finished_and_one_goes_on(demo):
    done = WalkRound.objects.get(finished_on__isnull=False)
    going = WalkRound.objects.unfinished().get()

    assert done.rig.kind == "motorhome"
    assert 20 <= (AS_OF - done.started_on).days <= 40
    assert done.looks.filter(photos__isnull=False).exists()
    assert Finding.objects.get(opened_in__walkround=done).severity == Severity.WATCH
    assert going.started_on == AS_OF
    assert going.looks.count() == 3


def test_findings_are_planned_on_the_shop_s_list_and_accepted(demo):
    assert Finding.objects.get(item__isnull=False).state == FindingState.PLANNED
    assert Finding.objects.get(for_shop=True).unfit
    assert Finding.objects.get(state=FindingState.ACCEPTED).why_accepted


def test_fuel_was_taken_in_so_that_economy_shows(demo):
    rigs = {stop.reading.meter.rig.kind for stop in FuelStop.objects.all()}

    assert rigs == {"motorhome", "tow_vehicle"}
    assert not FuelStop.objects.filter(reading__doubtful=True).exists()


def test_a_long_trip_with_the_car_behind_is_planned_for_after_the_stay(motorhome):
    trip = Trip.objects.get(towed_car__isnull=False)

    assert trip.rig == motorhome
    assert trip.distance == 1800
    assert trip.start > motorhome.stays.get(ended_on=None).planned_until


def test_shelf_shed_and_scale_have_something(demo):
    manual = Manual.objects.get(title="Chassis book")

    assert manual.pages == 3
    assert manual.notes.count() == 2
    assert Spot.objects.exclude(photo="").exists()
    assert Tool.objects.filter(kind="torque_wrench", calibrated_on__isnull=False)
    assert Supply.objects.for_household(demo).count() >= 3
    assert WeightLabel.objects.count() == 2
    assert ScaleTicket.objects.get().rig.kind == "motorhome"


def test_a_figure_is_kept_a_trouble_solved_and_a_member_has_quiet_days(demo):
    assert KeptFigure.objects.get().lines
    assert TroubleOutcome.objects.get().was_it
    member = Member.objects.for_household(demo).get(quiet_days=[5, 6])
    assert "heads_up" not in member.told_stages


def test_notices_are_raised_once_however_often_they_are_looked_for(demo):
    first = raise_notices(demo, today=AS_OF)

    assert first
    assert raise_notices(demo, today=AS_OF) == 0
    told = FindingNotice.objects.filter(member__household=demo).count()
    assert Notice.objects.filter(member__household=demo).count() + told == first


def test_removed_it_leaves_no_file(
    demo, django_capture_on_commit_callbacks, settings, tmp_path
):
    """From a copy of the files: the other tests go on with them."""
    media = shutil.copytree(settings.MEDIA_ROOT, tmp_path / "copy")
    settings.MEDIA_ROOT = media
    assert {folder.name for folder in media.iterdir()} >= {"proof", "manuals", "spots"}

    with django_capture_on_commit_callbacks(execute=True):
        remove_demo(demo)

    assert [path for path in media.rglob("*") if path.is_file()] == []


@pytest.mark.either_database
def test_told_for_another_day_after_removal_all_stands_as_before(
    demo, settings, tmp_path
):
    """Days of months differ in length; no standing hangs on two or three days."""
    settings.MEDIA_ROOT = tmp_path  # the files of the other tests stay
    before = names_by_item(demo)

    remove_demo(demo)
    again = told(ANOTHER_DAY)

    assert names_by_item(again) == before
    assert recheck(again, as_of=ANOTHER_DAY) == []
