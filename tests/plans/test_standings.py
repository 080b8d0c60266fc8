"""Stored standings: renewed with every change, the same as reckoned from scratch."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from maintenance.households.refusals import Refused
from maintenance.households.services import change_household
from maintenance.plans.models import Standing
from maintenance.plans.queries import due_standings
from maintenance.plans.services import change_item, drop_item, take_on
from maintenance.plans.standings import recheck, renew_household
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Line
from maintenance.vehicles import services
from tests import builders
from tests.builders import TODAY

KEYS = ["engine_oil", "lug_recheck", "drain_traps", "chassis_battery_off"]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=date(2025, 1, 1), keys=KEYS)
    return rig


def standing(rig, key):
    return Standing.objects.get(item__rig=rig, item__key=key)


def no_difference(rig, as_of=TODAY):
    return recheck(rig.household, as_of=as_of) == []


def test_standing_is_there_as_soon_as_an_item_is_taken_on(rig):
    assert Standing.objects.filter(item__rig=rig).count() == len(KEYS)


def test_stay_brings_storage_work_on_and_its_end_takes_it_away(keeper, rig):
    start = TODAY - timedelta(days=20)
    stay = services.start_stay(rig, by=keeper, today=TODAY, start=start)
    # Common practice: the chassis battery off when stored longer than two weeks.
    assert standing(rig, "chassis_battery_off").standing == "overdue"

    services.end_stay(stay, by=keeper, today=TODAY, ended_on=TODAY)

    assert standing(rig, "chassis_battery_off").standing == "waiting"
    assert no_difference(rig)


def test_readings_bring_the_recheck_from_due_to_overdue(keeper, rig):
    services.report_event(
        rig,
        by=keeper,
        today=TODAY,
        kind="wheel_off",
        on=TODAY,
        values={"odometer": Decimal(42310)},
        places=["LF"],
    )
    stood = [standing(rig, "lug_recheck").standing]
    for value in (42360, 42410, 42411):
        services.record_reading(
            rig.meters.get(), by=keeper, today=TODAY, on=TODAY, value=Decimal(value)
        )
        stood.append(standing(rig, "lug_recheck").standing)

    # Common practice: 50 to 100 miles after the wheel was off; 42,410 is the last.
    assert stood[1:] == ["due", "due", "overdue"]
    assert no_difference(rig)


def test_dropped_item_has_no_standing(keeper, rig):
    item = rig.plan_items.get(key="engine_oil")

    drop_item(item, by=keeper, today=TODAY, why="sold the engine")

    assert not Standing.objects.filter(item=item).exists()
    assert no_difference(rig)


def test_sold_rig_is_not_on_due(keeper, rig):
    services.sell_rig(rig, by=keeper, today=TODAY, on=TODAY)

    assert not due_standings(rig.household).exists()


def test_changed_season_renews_all_rigs(keeper, rig):
    item = builders.make_item(rig, "spring_look", triggers=[{"season": "spring"}])
    change_item(item, by=keeper, today=TODAY, title="Spring look")
    household = rig.household
    household.spring_from, household.spring_to = "01-01", "01-31"

    change_household(household, by=keeper)

    assert recheck(household, as_of=household.today()) == []


def test_new_day_renews_once_and_then_changes_nothing(rig):
    builders.make_item(rig, "roof", baseline="stated", baseline_on=TODAY)
    renew_household(rig.household, as_of=TODAY)
    tomorrow = TODAY + timedelta(days=400)

    first = renew_household(rig.household, as_of=tomorrow)
    again = renew_household(rig.household, as_of=tomorrow)

    assert (first > 0, again) == (True, 0)
    assert rig.household.reckoned_on == tomorrow


def test_first_change_of_a_new_day_reckons_every_rig(keeper, rig):
    other = builders.make_rig(keeper.household)
    item = builders.make_item(other, baseline="stated", baseline_on=TODAY)
    renew_household(keeper.household, as_of=TODAY)
    later = TODAY + timedelta(days=400)

    services.record_reading(
        rig.meters.get(), by=keeper, today=later, on=later, value=Decimal(50000)
    )

    assert standing(other, item.key).standing == "overdue"
    assert no_difference(rig, later)


def test_recheck_names_what_was_changed_behind_the_back(rig):
    Standing.objects.filter(item__key="engine_oil").update(standing="settled")

    found = recheck(rig.household, as_of=date(2025, 1, 1))

    assert [difference.item.key for difference in found] == ["engine_oil"]


def test_item_that_reads_wrongly_is_refused(keeper, rig):
    item = rig.plan_items.get(key="engine_oil")
    with pytest.raises(Refused):
        change_item(
            item, by=keeper, today=TODAY, triggers=[{"every": {"fortnights": 2}}]
        )


@pytest.mark.parametrize("rigs", [1, 4])
def test_renewing_takes_the_same_queries_for_more_rigs(
    keeper, rigs, django_assert_max_num_queries
):
    for _ in range(rigs):
        rig = builders.make_rig(keeper.household)
        take_on(rig, by=keeper, today=TODAY, keys=KEYS)

    with django_assert_max_num_queries(20):
        renew_household(keeper.household, as_of=TODAY + timedelta(days=30))


def test_everything_that_happens_leaves_stored_and_reckoned_the_same(keeper, rig):
    meter = rig.meters.get()
    for day, value in ((100, 41000), (60, 41800), (30, 400), (10, 42300)):
        services.record_reading(
            meter,
            by=keeper,
            today=TODAY,
            on=TODAY - timedelta(days=day),
            value=Decimal(value),
        )
    oil = rig.plan_items.get(key="engine_oil")
    builders.log_work(
        rig,
        by=keeper,
        today=TODAY,
        form_token=uuid4(),
        on=TODAY - timedelta(days=9),
        lines=[Line(oil.title, oil)],
        values={"odometer": Decimal(42310)},
        wheels=Wheels(off=frozenset({"LF"})),
        doer="us",
    )

    assert no_difference(rig)
