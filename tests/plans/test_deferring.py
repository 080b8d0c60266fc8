"""Safety is put off so far at most, however often; what was put off before runs out."""

from datetime import date, timedelta

import pytest

from maintenance.households.refusals import Refused
from maintenance.plans.models import Deferral
from maintenance.plans.services import defer
from maintenance.plans.standings import renew_household, renew_standings
from tests import builders
from tests.builders import TODAY

DAY = timedelta(days=1)
# Due since TODAY - 10: a year's window opens 30 days before it closes.
DONE = TODAY - timedelta(days=345)
LAST = TODAY + timedelta(days=20)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household)


@pytest.fixture
def brakes(rig):
    return builders.make_item(
        rig, "our_brakes", safety=True, baseline="stated", baseline_on=DONE
    )


def put_off(item, keeper, until, today=TODAY):
    return defer(item, by=keeper, today=today, why="No time", until=until)


def is_open(item):
    return item.deferrals.filter(ended=False).exists()


def test_safety_put_off_again_and_again_then_never_past_30_days_after_it_opened(
    brakes, keeper
):
    put_off(brakes, keeper, LAST - 9 * DAY)
    put_off(brakes, keeper, LAST, today=TODAY + 11 * DAY)

    with pytest.raises(Refused, match="can put it off until May 24 at most"):
        put_off(brakes, keeper, LAST + DAY, today=TODAY + 12 * DAY)
    with pytest.raises(Refused, match="put it off any longer"):
        put_off(brakes, keeper, LAST + 5 * DAY, today=LAST)


def test_deferral_made_before_then_it_runs_out_where_one_may_end(brakes, rig, keeper):
    """As a household had it before there was a bound."""
    Deferral.objects.create(
        item=brakes, until=TODAY + 300 * DAY, why="Later", made_by=keeper
    )

    renew_household(rig.household, as_of=LAST - DAY)
    rig.household.refresh_from_db()
    assert is_open(brakes)
    assert rig.household.next_change_on <= LAST

    renew_household(rig.household, as_of=LAST)
    assert not is_open(brakes)


def test_follow_up_that_comes_after_the_deferral_then_it_ends_with_its_window(
    rig, keeper
):
    rules = [
        {"every": {"months": 12}},
        {"after": {"event": "hail", "days": [0, 3]}},
    ]
    item = builders.make_item(
        rig, "our_roof", triggers=rules, baseline="stated", baseline_on=date(2026, 1, 1)
    )
    put_off(item, keeper, TODAY + 60 * DAY)
    rig.events.create(kind="hail", on=TODAY)

    renew_standings([rig], as_of=TODAY + 2 * DAY)
    assert is_open(item)
    renew_standings([rig], as_of=TODAY + 3 * DAY)
    assert not is_open(item)


def test_deferral_to_a_day_then_it_ends_100_miles_after_the_window_opened(
    brakes, rig, keeper
):
    """The window opened ten days ago, at about 42,000 mi."""
    meter = rig.meters.get(kind="odometer")
    meter.readings.create(on=TODAY - 10 * DAY, value=42000)
    put_off(brakes, keeper, LAST)

    meter.readings.create(on=TODAY + DAY, value=42099)
    renew_standings([rig], as_of=TODAY + DAY)
    assert is_open(brakes)

    meter.readings.create(on=TODAY + 2 * DAY, value=42100)
    renew_standings([rig], as_of=TODAY + 2 * DAY)
    assert not is_open(brakes)
    with pytest.raises(Refused, match="put it off any longer"):
        put_off(brakes, keeper, LAST, today=TODAY + 2 * DAY)
