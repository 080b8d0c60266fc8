"""What stands on the lists of a stay: what it is too short for, what its water and its
readings change, what is to be bought."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.households.models import Role
from maintenance.planning.storage.shopping import to_buy
from maintenance.planning.storage.work import stay_work
from maintenance.plans.models import ItemSupply
from maintenance.service_records.work import Line
from maintenance.supplies.models import Supply
from maintenance.vehicles.models import Stay
from maintenance.vehicles.rhythm import keep_visit, set_runways
from maintenance.vehicles.runways import runways_of
from maintenance.vehicles.services import change_stay, start_stay
from tests import builders
from tests.builders import TODAY

D = Decimal
START = TODAY - timedelta(days=20)
ENTRY = [{"storage_entry": {}}]
LATER = [{"storage_entry": {"by_day": 14, "lead": 0}}]
WATCH = [{"while_stored": {"days": 30}}]
TRAPS = [{"while_stored": {"days": 30, "unless_winterized": True}}]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household, name="Coach")
    builders.make_item(rig, "chassis_battery_off", triggers=LATER)
    builders.make_item(rig, "store_rodents", triggers=ENTRY)
    builders.make_item(rig, "drain_traps", triggers=TRAPS)
    builders.make_item(rig, "battery_stored_charge", triggers=WATCH)
    builders.make_item(rig, "exit_battery", triggers=[{"storage_exit": {}}])
    return rig


@pytest.fixture
def client(client_as, clock, keeper):
    clock("2026-05-04 09:00", "America/Denver")
    return client_as(keeper)


@pytest.fixture
def store(rig, keeper):
    def make(start=START, **fields):
        return start_stay(rig, by=keeper, today=TODAY, start=start, **fields)

    return make


def keys(jobs):
    return [job.item.key for job in jobs]


def page_of(client, stay):
    return client.get(reverse("stay", args=[stay.pk])).content.decode()


def test_stay_of_13_days_lists_no_battery_and_one_of_20_does(store, keeper):
    stay = store(TODAY, planned_until=TODAY + timedelta(days=13))
    assert keys(stay_work(stay, TODAY).entry) == ["store_rodents"]

    until = TODAY + timedelta(days=20)
    change_stay(stay, by=keeper, today=TODAY, planned_until=until)

    listed = keys(stay_work(stay, TODAY).entry)
    assert listed == ["store_rodents", "chassis_battery_off"]


def test_planned_end_that_has_passed_keeps_asking(store):
    stay = store(planned_until=TODAY - timedelta(days=10))

    battery = stay_work(stay, TODAY).entry[1]

    assert battery.was_due == START + timedelta(days=14)


def test_stay_that_is_over_calls_nothing_late_and_buys_nothing(store):
    stay = store()
    stay.ended_on = TODAY
    work = stay_work(stay, TODAY)

    assert [job.was_due for job in work.entry] == [None, None]
    assert to_buy(runways_of(stay), work.entry) == []


def test_winterized_stay_asks_for_no_water_in_the_traps(store, keeper):
    stay = store()
    assert "drain_traps" in keys(stay_work(stay, TODAY).watch)

    change_stay(stay, by=keeper, today=TODAY, water="antifreeze")

    assert "drain_traps" not in keys(stay_work(stay, TODAY).watch)


def test_reading_moves_the_next_day_of_the_watch(client, rig, store, keeper):
    figures = {"chassis_capacity": D(100), "chassis_drain": D("0.05")}
    set_runways(rig, by=keeper, today=TODAY, **figures)
    stay = store(usual=D(77), lowest=D(60))

    keep_visit(stay, by=keeper, today=TODAY, on=TODAY, chassis="12.45 V")

    watch = client.get(reverse("stay", args=[stay.pk])).context["watch"]
    [dates] = [
        rhythm["dates"]
        for job, rhythm in watch
        if job.item.key == "battery_stored_charge"
    ]
    # as the standing has it: tests/plans/test_stay_rhythm.py
    assert dates[0] == TODAY + timedelta(days=4)


def test_visit_that_was_missed_says_its_day_and_a_long_stay_goes_on(client, store):
    stay = store(TODAY - timedelta(days=400))

    page = page_of(client, stay)

    assert "was due by Apr 29, 2025" in page, page[page.index("<main") :]


def test_open_end_tells_what_falls_due_in_half_a_year(rig, store):
    life = [{"life": {"years": 10, "from": "2016-08-01"}}]
    builders.make_item(rig, "smoke_alarm", triggers=life)

    during = stay_work(store(), TODAY).during

    assert [row.item.key for row in during] == ["smoke_alarm"]


def test_supply_that_runs_short_is_to_be_bought(client, rig, store):
    mesh = Supply.objects.create(
        household=rig.household, name="Steel mesh", unit="piece", stock=1
    )
    item = rig.plan_items.get(key="store_rodents")
    ItemSupply.objects.create(item=item, supply=mesh, amount=3)
    stay = store()

    [buy] = [
        one
        for one in to_buy(runways_of(stay), stay_work(stay, TODAY).entry)
        if one.short
    ]

    assert (buy.name, buy.words) == ("Steel mesh", "3 pieces; 1 piece in stock")
    assert "not enough" in page_of(client, stay)


def test_antifreeze_is_bought_where_it_freezes_and_for_no_dry_system(store, keeper):
    stay = store(usual=D(40), lowest=D(0), water="antifreeze")
    # 2 to 3 gal for the lines and a cup for each of three traps (common practice)
    assert to_buy(runways_of(stay), [])[0].words == "2.2 to 3.2 gal"

    change_stay(stay, by=keeper, today=TODAY, water="dry")

    assert to_buy(runways_of(stay), []) == []


def test_rig_is_not_woken_on_a_battery_nobody_looked_at(client_as, clock, rig, store):
    stay = store()
    clock("2026-05-04 09:00", "America/Denver")
    crew = client_as(builders.make_member(rig.household, Role.CREW))

    crew.post(reverse("end_stay", args=[stay.pk]), {"ended_on": "2026-05-04"})

    stay.refresh_from_db()
    assert stay.ended_on is None


def test_refused_stay_shows_what_is_in_the_way_at_once(client, rig, store):
    store()

    data = {"start": "2026-05-10", "batteries": "connected"}
    answer = client.post(reverse("start_stay", args=[rig.pk]), data)

    assert '<details class="fold sheet-fold" open>' in answer.content.decode()


@pytest.mark.parametrize(
    ("fields", "listed"),
    [
        ({"usual": D(35), "lowest": D(0)}, True),
        ({"usual": D(35), "lowest": D(0), "water": "nothing"}, True),
        ({"usual": D(35), "lowest": D(0), "water": "dry"}, False),
        ({"usual": D(35), "lowest": D(0), "water": "heated"}, False),
        ({"usual": D(60), "lowest": D(40)}, False),
        ({}, False),
    ],
)
def test_winterizing_is_on_the_list_where_water_would_freeze(
    rig, store, fields, listed
):
    builders.make_item(rig, "winterize", triggers=[{"season": "autumn"}])

    work = stay_work(store(**fields), TODAY)

    assert ("winterize" in keys(work.entry)) == listed


@pytest.mark.parametrize(
    ("fields", "freezes"),
    [
        ({"lowest": D(0)}, True),
        ({"lowest": D(0), "water": "nothing"}, True),
        ({"lowest": D(-5), "temperature_unit": "°C"}, True),
        ({"lowest": D(5), "temperature_unit": "°C"}, False),
        ({"lowest": D(0), "water": "heated"}, False),
        ({"lowest": D(40)}, False),
        ({}, False),
    ],
)
def test_no_water_is_run_in_frost_and_the_look_for_burst_parts_comes_first(
    rig, store, fields, freezes
):
    water = [{"storage_exit": {}}]
    builders.make_item(rig, "dewinterize", triggers=water)
    after = [{"after": {"event": "freeze", "days": [0, 3]}}]
    builders.make_item(rig, "freeze_damage_look", triggers=after)

    stay = store(**fields)
    work = stay_work(stay, TODAY)

    assert ("drain_traps" in keys(work.watch)) == (not freezes)
    traps = rig.plan_items.get(key="drain_traps").standing
    assert (traps.standing == "waiting") == freezes
    leaving = ["freeze_damage_look", "dewinterize"] if freezes else ["dewinterize"]
    assert [key for key in keys(work.exit) if key != "exit_battery"] == leaving


def test_winterizing_says_its_day_and_is_marked_once_done(rig, store):
    item = builders.make_item(rig, "winterize", triggers=[{"season": "autumn"}])
    stay = store(usual=D(35), lowest=D(0))
    job = next(j for j in stay_work(stay, TODAY).entry if j.item == item)
    assert (job.was_due, job.done_on) == (START, None)

    item.completions.create(on=START, outcome="done")

    job = next(j for j in stay_work(stay, TODAY).entry if j.item == item)
    assert (job.was_due, job.done_on) == (None, START)


def test_age_of_a_battery_is_said_with_what_the_runway_rests_on(
    client, rig, store, keeper
):
    since = TODAY.replace(year=2022)
    battery = {"chassis_capacity": D(100), "chassis_since": since}
    set_runways(rig, by=keeper, today=TODAY, **battery)

    page = page_of(client, store(usual=D(50), lowest=D(0)))

    assert "installed May 4, 2022" in page


def test_low_battery_that_was_only_looked_at_is_due_at_once(client, rig, store, keeper):
    battery = {"chassis_capacity": D(100), "chassis_drain": D("0.05")}
    set_runways(rig, by=keeper, today=TODAY, **battery)
    stay = store(usual=D(50), lowest=D(0))
    url = reverse("visit_stay", args=[stay.pk])
    looked = rig.plan_items.get(key="battery_stored_charge")
    token = client.get(url).context["form"]["token"].value()

    data = {"token": token, "on": TODAY, "chassis": "12.3 V", "done": [looked.pk]}
    client.post(url, data)

    looked.standing.refresh_from_db()
    assert (looked.standing.standing, looked.standing.closes_on) == ("due", TODAY)


def test_past_stay_shows_what_was_done_then_not_in_a_later_one(rig, keeper, store):
    long_ago = TODAY - timedelta(days=300)
    past = store(start=long_ago)
    Stay.objects.filter(pk=past.pk).update(ended_on=long_ago + timedelta(days=90))
    store()
    battery = rig.plan_items.get(key="chassis_battery_off")
    lines = [Line(battery.title, battery)]
    builders.log_work(rig, by=keeper, on=TODAY - timedelta(days=5), lines=lines)

    past.refresh_from_db()

    assert {job.done_on for job in stay_work(past, TODAY).entry} == {None}
