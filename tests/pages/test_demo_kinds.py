"""The demo shows something of every kind that the program knows."""

import json
import shutil
from datetime import date

import pytest
from django.core.management import call_command
from django.db import transaction
from django.test import override_settings

from maintenance.calculators.models import KeptFigure
from maintenance.components.axles import check_axles
from maintenance.components.models import Component, Fitting
from maintenance.findings.models import Finding, FindingState, Severity
from maintenance.households.models import Household, Member
from maintenance.pages.demo.providing import fixtures
from maintenance.pages.demo.removing import remove_demo
from maintenance.pages.demo.story import read_story
from maintenance.pages.demo.telling import tell
from maintenance.plans.models import Standing
from maintenance.reminders.models import FindingNotice, Notice
from maintenance.reminders.services import raise_notices
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.models import (
    LinkKind,
    Merge,
    ServiceRecord,
    UnfiledPhoto,
)
from maintenance.service_records.queries import fixed_by
from maintenance.supplies.models import Supply, Tool
from maintenance.troubleshooting.models import TroubleOutcome
from maintenance.vehicles.models import (
    FuelStop,
    Manual,
    ScaleTicket,
    Spot,
    Trip,
    WeightLabel,
)
from maintenance.walkrounds.models import WalkRound

pytestmark = pytest.mark.either_database
AS_OF = date(2026, 11, 25)


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker, tmp_path_factory):
    """Loaded once for this file, in a transaction that is rolled back at its end."""
    media = tmp_path_factory.mktemp("demo")
    with (
        django_db_blocker.unblock(),
        override_settings(MEDIA_ROOT=media),
        transaction.atomic(),
    ):
        story = read_story(fixtures())
        yield tell(story, as_of=AS_OF, password="quiet-paper-lantern").pk, media
        transaction.set_rollback(True)


@pytest.fixture
def demo(loaded, db, settings):
    pk, settings.MEDIA_ROOT = loaded
    return Household.objects.get(pk=pk)


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
    finding = Finding.objects.get(what__contains="maker's book")

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
