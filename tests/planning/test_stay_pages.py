"""A stay on pages: entry work in order, runways, visits, and a safe waking up."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils.html import escape

from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.packets.models import Packet
from maintenance.pages.printed_sheets import printed
from maintenance.planning.storage.services import wake
from maintenance.planning.storage.views import stay_context
from maintenance.planning.storage.work import stay_work
from maintenance.plans.services import take_on
from maintenance.plans.standings import renew_standings
from maintenance.service_records.models import ServiceRecord
from maintenance.vehicles.models import Rig, RunwaySetting, Stay
from tests import builders

TODAY = date(2026, 11, 20)
KEYS = [
    "store_photos",
    "chassis_battery_off",
    "store_propane",
    "watch_visit",
    "drain_traps",
    "battery_stored_charge",
    "exit_covers",
    "exit_alarms",
    "exit_propane_test",
    "exit_battery",
    "water_heater_full_first",
]


@pytest.fixture(scope="module")
def home(shared):
    def make():
        keeper = builders.make_member()
        rig = builders.make_rig(keeper.household, name="Heron")
        take_on(rig, by=keeper, today=date(2026, 1, 1), keys=KEYS)
        return keeper.pk, rig.pk

    with shared(make, at="2026-11-20 15:00") as (pks, _files):
        yield pks


@pytest.fixture
def keeper(home, db, clock):
    clock("2026-11-20 15:00", "America/Denver")
    return Member.objects.get(pk=home[0])


@pytest.fixture
def rig(home, keeper):
    return Rig.objects.get(pk=home[1])


@pytest.fixture
def client(client_as, keeper):
    return client_as(keeper)


@pytest.fixture
def stay(client, rig):
    data = {
        "start": "2026-11-01",
        "planned_until": "2027-03-20",
        "usual": "40",
        "lowest": "0",
        "water": "dry",
        "batteries": "connected",
    }
    client.post(reverse("start_stay", args=[rig.pk]), data)
    return Stay.objects.get()


def text(client, name, *args, **query):
    return client.get(reverse(name, args=args), query).content.decode()


def item(rig, key):
    return rig.plan_items.get(key=key)


def test_waking_up_is_told_in_its_safe_order_on_page_and_paper(client, rig, stay):
    order = [
        "exit_covers",
        "exit_battery",
        "exit_alarms",
        "water_heater_full_first",
        "exit_propane_test",
    ]
    titles = [escape(item(rig, key).title) for key in order]

    page = text(client, "end_stay", stay.pk).split("in this order")[1]
    paper = printed("pages/print/stay.html", rig.household, **stay_context(stay, TODAY))

    for told in (page, paper):
        places = [told.index(title) for title in titles]
        assert places == sorted(places)


def test_batteries_keep_it_where_it_is_on_a_plan_from_before_they_were_safety(
    rig, stay
):
    rig.plan_items.filter(key="exit_battery").update(safety=False)

    assert "exit_battery" in [job.item.key for job in stay_work(stay, TODAY).unsafe]


def test_what_the_household_wrote_itself_comes_last(keeper, rig, stay):
    builders.make_item(rig, "own-first", triggers=[{"storage_exit": {}}])
    builders.make_item(rig, "own-then", triggers=[{"storage_exit": {}}])
    take_on(rig, by=keeper, today=TODAY, keys=["exit_damage", "tire_pressure"])

    keys = [job.item.key for job in stay_work(stay, TODAY).exit]

    assert keys[0] == "exit_damage"
    assert keys[-2:] == ["own-first", "own-then"]


def test_form_keeps_conditions_and_leads_to_the_stay(stay):
    assert (stay.usual, stay.lowest) == (Decimal("40.0"), Decimal("0.0"))
    assert stay.winterized


def test_entry_work_says_the_day_on_which_it_should_have_been_done(client, stay):
    page = text(client, "stay", stay.pk)

    assert "was due by Nov 15, 2026" in page  # battery: by day 14
    left = page.split("Storage checklist")[1]
    assert left.index("Photograph") < left.index("chassis battery")


def test_work_done_for_the_stay_is_marked(client, rig, stay):
    item(rig, "store_photos").completions.create(on=date(2026, 10, 30), outcome="done")

    work = stay_work(stay, TODAY)

    assert work.entry[0].done_on == date(2026, 10, 30)


def test_work_of_an_earlier_winter_does_not_count(rig, stay):
    item(rig, "store_photos").completions.create(on=date(2025, 10, 30), outcome="done")

    assert stay_work(stay, TODAY).entry[0].open


def test_runways_show_a_date_a_range_and_what_they_rest_on(client, rig, stay):
    RunwaySetting.objects.create(rig=rig, chassis_capacity=100, chassis_drain="0.05")

    page = text(client, "stay", stay.pk)

    assert "Chassis battery" in page
    assert "Recharge, at 12.4 V" in page
    assert "100 Ah, 100 % at the start" in page
    assert "Disconnected instead" in page
    assert ".." not in page
    assert ".;" not in page
    assert "may need a charge since" in page or "good at least to" in page


def test_household_s_months_stand_in_for_temperatures_left_empty(client, rig):
    household = rig.household
    household.climate = [["10", "30"]] * 12
    household.climate_unit = "°F"
    household.save()

    client.post(
        reverse("start_stay", args=[rig.pk]),
        {"start": "2026-11-01", "batteries": "connected"},
    )

    assert Stay.objects.get().usual == 30


def test_stay_without_figures_says_what_to_give(client, rig):
    made = Stay.objects.create(rig=rig, start=date(2026, 11, 1))

    assert "Enter the temperatures and" in text(client, "stay", made.pk)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("usual", "300", "150"),
        ("planned_until", "2026-10-01", "The end is before the start"),
    ],
)
def test_what_cannot_be_is_refused_where_it_was_typed(client, rig, field, value, words):
    data = {"start": "2026-11-01", "batteries": "connected", "place": "Barn"}

    answer = client.post(reverse("start_stay", args=[rig.pk]), data | {field: value})

    assert words in answer.content.decode()
    assert 'value="Barn"' in answer.content.decode()
    assert not Stay.objects.exists()


def test_battery_of_no_capacity_is_refused_with_the_plausible_range(client, rig):
    url = reverse("runways", args=[rig.pk])
    data = {
        "chassis_capacity": "0",
        "chassis_kind": "flooded",
        "house_kind": "agm",
        "seal": "51",
        "traps": "3",
        "heater": "6",
        "on_radio_memory": "chassis",
    }

    page = client.post(url, data).content.decode()

    assert "1 to 2,000 Ah" in page
    assert not RunwaySetting.objects.exists()


def test_runway_form_keeps_drains_and_appliances(client, rig):
    url = reverse("runways", args=[rig.pk])
    data = {
        "chassis_capacity": "95",
        "chassis_kind": "flooded",
        "house_kind": "agm",
        "seal": "51",
        "traps": "3",
        "heater": "6",
        "on_radio_memory": "chassis",
        "propane": "20",
        "name_0": "Furnace",
        "btu_0": "30000",
        "duty_0": "0.3",
    }

    client.post(url, data)

    setting = RunwaySetting.objects.get()
    assert setting.drains == {"radio_memory": {"battery": "chassis", "part": "1"}}
    assert setting.burns == [{"name": "Furnace", "btu": "30000", "duty": "0.3"}]


def visit(client, rig, stay, **more):
    page = client.get(reverse("visit_stay", args=[stay.pk]))
    data = {"token": page.context["form"]["token"].value(), "on": "2026-11-20"}
    return client.post(reverse("visit_stay", args=[stay.pk]), data | more)


def test_reading_takes_the_place_of_the_estimate(client, rig, stay):
    RunwaySetting.objects.create(rig=rig, chassis_capacity=100, chassis_drain="0.05")

    visit(client, rig, stay, chassis="12.5 V")

    assert "Read as 12.5 V on Nov 20, 2026" in text(client, "stay", stay.pk)


def test_what_was_looked_at_becomes_one_record(client, rig, stay):
    watched = item(rig, "watch_visit")

    visit(
        client, rig, stay, done=[watched.pk], note="Dry inside.", pressure_LF="65 psi"
    )

    record = ServiceRecord.objects.get()
    assert [line.item for line in record.lines.all()] == [watched]
    assert stay.visits.get().pressures == {"LF": "65 psi"}


def test_reading_that_is_none_is_refused_and_kept(client, rig, stay):
    answer = visit(client, rig, stay, chassis="plenty", note="Dry inside.")

    assert answer.status_code == 200
    assert "Dry inside." in answer.content.decode()
    assert not stay.visits.exists()


def test_waking_up_is_blocked_while_safety_work_is_open(client, rig, stay):
    answer = client.post(
        reverse("end_stay", args=[stay.pk]), {"ended_on": "2026-11-20", "why": ""}
    )

    assert "Record them first" in answer.content.decode()
    stay.refresh_from_db()
    assert stay.ended_on is None


def test_keeper_says_why_it_leaves_without_them(client, rig, stay):
    client.post(
        reverse("end_stay", args=[stay.pk]),
        {"ended_on": "2026-11-20", "why": "Towed to the shop"},
    )

    stay.refresh_from_db()
    assert stay.ended_on == TODAY
    assert stay.woken_without.startswith("Towed to the shop (")


def test_crew_may_not_leave_without_them(rig, stay):
    crew = builders.make_member(rig.household, role=Role.CREW)

    with pytest.raises(Refused, match="A keeper can override"):
        wake(stay, by=crew, today=TODAY, ended_on=TODAY, why="In a hurry")


def test_done_safety_work_lets_the_rig_go(rig, stay):
    crew = builders.make_member(rig.household, role=Role.CREW)
    for job in stay_work(stay, TODAY).unsafe:
        job.item.completions.create(on=TODAY, outcome="done")

    wake(stay, by=crew, today=TODAY, ended_on=TODAY)

    stay.refresh_from_db()
    assert stay.ended_on == TODAY
    assert stay.woken_without == ""


def test_stay_of_13_days_asks_for_no_battery_and_one_of_20_does(client, rig):
    data = {"start": "2026-11-10", "batteries": "connected"}
    url = reverse("start_stay", args=[rig.pk])
    client.post(url, data | {"planned_until": "2026-11-23"})
    battery = item(rig, "chassis_battery_off")
    assert battery.standing.standing not in {"due", "overdue", "soon"}

    made = Stay.objects.get()
    url = reverse("change_stay", args=[made.pk])
    client.post(url, data | {"planned_until": "2026-11-30"})

    battery.standing.refresh_from_db()
    assert battery.standing.closes_on == date(2026, 11, 24)


def test_form_shows_the_ways_out_of_an_overlap(client, rig, stay):
    url = reverse("start_stay", args=[rig.pk])
    page = client.post(url, {"start": "2026-12-01", "batteries": "connected"})

    words = page.content.decode()
    assert "also in storage from Nov 1, 2026" in words
    assert reverse("stay", args=[stay.pk]) in words


def test_what_falls_due_meanwhile_is_listed(client, rig, stay):
    oil = builders.make_item(
        rig, title="Engine oil", triggers=[{"every": {"months": 12}}]
    )
    oil.completions.create(on=date(2026, 1, 10), outcome="done")
    renew_standings([rig], as_of=TODAY)

    assert [row.title for row in stay_work(stay, TODAY).during] == ["Engine oil"]


def test_storage_sheet_is_printed_as_it_stands(client, rig, stay):
    client.post(reverse("print_stay", args=[stay.pk]))

    page = Packet.objects.get().page
    assert "Storage sheet: Heron" in page
    assert "should have been done by Nov 15, 2026" in page
    assert page.index("Putting it away") < page.index("Waking it up")


def test_page_asks_the_database_the_same_for_a_longer_plan(
    client, rig, keeper, stay, django_assert_max_num_queries
):
    for n in range(20):
        builders.make_item(rig, key=f"own_{n}", triggers=[{"storage_exit": {}}])
    renew_standings([rig], as_of=TODAY)

    with django_assert_max_num_queries(26):
        client.get(reverse("stay", args=[stay.pk]))


def test_planned_end_that_has_passed_is_asked_about(client, rig, stay, clock):
    Stay.objects.update(planned_until=date(2026, 11, 18))

    for page in (text(client, "stay", stay.pk), text(client, "storage")):
        assert "Is it still parked?" in page


def test_note_of_a_visit_that_tells_of_wheel_work_then_it_asks_which(client, rig, stay):
    note = "Fixed the flat"

    answer = visit(client, rig, stay, note=note)
    assert "which wheels were off?" in answer.content.decode()
    assert not stay.visits.exists()
    visit(client, rig, stay, note=note, wheels_off=["LF"])

    assert ServiceRecord.objects.get().wheels_off == ["LF"]


def test_sentence_counts_days_visits_and_what_is_left(client, stay):
    page = text(client, "stay", stay.pk)

    # Nov 1 to Nov 20 to Mar 20; the traps and the look every 30 days.
    assert "19 days in, 120 to go." in page
    assert "Next visit by Dec 1." in page


def test_waking_up_is_folded_until_it_is_time(client, stay):
    part = text(client, "stay", stay.pk).split("Wake it up, in this order")[1]
    assert "Outside, before you light any appliance" in part
    assert '<details class="fold" open>' not in part

    Stay.objects.update(planned_until=date(2026, 11, 30))

    part = text(client, "stay", stay.pk).split("Wake it up, in this order")[1]
    assert '<details class="fold" open>' in part


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"lowest": 36, "winterized": False, "water": ""}, "Not winterized: below"),
        ({"lowest": 0, "winterized": True, "water": "dry"}, "Winterized: blown out"),
        ({"lowest": 0, "winterized": False, "water": "heated"}, "without heat"),
    ],
)
def test_frost_is_said_in_one_sentence(client, stay, fields, words):
    Stay.objects.update(**fields)

    assert words in text(client, "stay", stay.pk)


def test_work_of_a_place_needs_nothing_of_a_later_one(client, rig, stay):
    titles = [place.title for place in stay_context(stay, TODAY)["exit"]]

    assert titles == [
        "Outside, before you light any appliance",
        "Batteries and alarms",
        "Inside and water",
        "Propane",
    ]
