"""What a stay's runways ask stands in the standings, and `recheck` finds the same."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.plans.models import Standing
from maintenance.plans.standings import recheck, renew_household
from maintenance.vehicles.models import Stay
from maintenance.vehicles.rhythm import keep_visit, set_runways
from maintenance.vehicles.services import change_stay, start_stay
from tests import builders
from tests.builders import TODAY

D = Decimal
START = TODAY - timedelta(days=10)
TRAPS = [{"while_stored": {"days": 30, "unless_winterized": True}}]
BATTERY = [{"while_stored": {"days": 30}}]
# Heated: where its water freezes, a rig is asked to run none.
WARM = {"usual": D(77), "lowest": D(0), "humidity": 50, "water": "heated"}


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_item(rig, "drain_traps", triggers=TRAPS)
    builders.make_item(rig, "battery_stored_charge", triggers=BATTERY)
    builders.make_item(rig, "watch_visit", triggers=BATTERY)
    settings = {"chassis_capacity": D(100), "chassis_drain": D("0.05")}
    set_runways(rig, by=keeper, today=TODAY, **settings)
    return rig


def closes(key):
    return Standing.objects.get(item__key=key).closes_on


def test_runways_shorten_their_items_and_no_other(rig, keeper):
    start_stay(rig, by=keeper, today=TODAY, start=START, **WARM)

    assert closes("drain_traps") == START + timedelta(days=20)
    assert closes("battery_stored_charge") == START + timedelta(days=22)
    assert closes("watch_visit") == START + timedelta(days=30)
    assert recheck(rig.household, as_of=TODAY) == []


def test_rhythm_kept_under_the_keys_of_items_still_holds(rig, keeper):
    stay = start_stay(rig, by=keeper, today=TODAY, start=START, **WARM)
    asked = {"drain_traps": {"days": 12}, "battery_stored_charge": {"days": 15}}
    Stay.objects.filter(pk=stay.pk).update(rhythm=asked)

    renew_household(rig.household, as_of=TODAY)

    assert closes("drain_traps") == START + timedelta(days=12)
    assert closes("battery_stored_charge") == START + timedelta(days=15)
    assert closes("watch_visit") == START + timedelta(days=30)


def test_reading_moves_the_day_and_recheck_agrees(rig, keeper):
    stay = start_stay(rig, by=keeper, today=TODAY, start=START, **WARM)

    keep_visit(stay, by=keeper, today=TODAY, on=TODAY, chassis="12.45 V")

    assert closes("battery_stored_charge") == TODAY + timedelta(days=4)
    assert recheck(rig.household, as_of=TODAY) == []


def test_other_figures_of_the_stay_move_the_day(rig, keeper):
    stay = start_stay(rig, by=keeper, today=TODAY, start=START, **WARM)

    change_stay(stay, by=keeper, today=TODAY, humidity=95, batteries="charged")

    assert closes("drain_traps") == START + timedelta(days=30)
    assert closes("battery_stored_charge") == START + timedelta(days=30)


def test_planned_stay_asks_nothing_before_its_day(rig, keeper):
    start = TODAY + timedelta(days=3)
    start_stay(rig, by=keeper, today=TODAY, start=start, **WARM)
    assert closes("drain_traps") is None

    renew_household(rig.household, as_of=start)

    assert closes("drain_traps") == start + timedelta(days=20)


def test_stay_extended_from_13_to_20_days_brings_the_battery_on(rig, keeper):
    off = [{"storage_entry": {"by_day": 14, "lead": 0}}]
    item = builders.make_item(rig, "chassis_battery_off", triggers=off)
    until = TODAY + timedelta(days=13)
    stay = start_stay(rig, by=keeper, today=TODAY, start=TODAY, planned_until=until)
    assert item.standing.closes_on is None

    later = TODAY + timedelta(days=20)
    change_stay(stay, by=keeper, today=TODAY, planned_until=later)

    item.standing.refresh_from_db()
    assert item.standing.closes_on == TODAY + timedelta(days=14)
    assert item.standing.standing == "due"


def test_on_the_day_a_notice_is_raised_for_the_battery(rig, keeper):
    from maintenance.reminders.services.raising import raise_notices  # noqa: PLC0415

    start_stay(rig, by=keeper, today=TODAY, start=START, **WARM)
    day: date = START + timedelta(days=22)

    raise_notices(rig.household, today=day)

    raised = keeper.notices.filter(item__key="battery_stored_charge")
    assert [notice.stage for notice in raised] == ["due"]
