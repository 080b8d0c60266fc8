"""A standing holds until the day on which it says that it may change."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.core.facts import (
    Baseline,
    Calendar,
    Item,
    Meter,
    Reading,
    Rig,
    Span,
    Standing,
    Stay,
    Trip,
)
from maintenance.core.reckon import reckon
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.core.triggers.kinds.season import Season
from tests.core.test_reckon_properties import AS_OF, a_rig

DAY = timedelta(days=1)
OIL = EveryMeter("odometer", "mi", Decimal(5000))


def stand(rig: Rig, on: date) -> list[Standing]:
    return list(reckon(rig, calendar=Calendar(), as_of=on).items)


def says(one: Standing) -> object:
    """What a standing says, but for which of its windows comes first by a forecast."""
    windows = {(p.kind, p.window, p.places) for p in one.pending}
    return one.standing, one.expected, windows


def made(*triggers: object, **fields: object) -> Rig:
    item = Item("one", triggers, **fields)  # type: ignore[arg-type]
    readings = tuple(
        Reading(AS_OF - timedelta(days=ago), Decimal(40000 - 30 * ago))
        for ago in range(360, -1, -30)
    )
    return Rig({"odometer": Meter("mi", readings)}, (item,))


def first_change(rig: Rig, days: int) -> date | None:
    before = says(stand(rig, AS_OF)[0])
    for n in range(1, days):
        if says(stand(rig, AS_OF + n * DAY)[0]) != before:
            return AS_OF + n * DAY
    return None


@settings(max_examples=150, deadline=None)
@given(a_rig(), st.data())
def test_a_standing_holds_until_its_day(rig: Rig, data: st.DataObject) -> None:
    """The same as a full reckoning gives on every day before."""
    for n, one in enumerate(stand(rig, AS_OF)):
        last = min((one.changes_on - AS_OF).days - 1, 500)
        if last < 1:
            continue
        for ahead in {last, data.draw(st.integers(1, last))}:
            assert says(stand(rig, AS_OF + ahead * DAY)[n]) == says(one)


@pytest.mark.parametrize(
    ("rig", "steps"),
    [
        (made(EveryTime(Span(months=12)), baseline=Baseline(date(2026, 1, 1))), 1),
        (made(EveryTime(Span(days=30)), baseline=Baseline(AS_OF)), 1),
        (made(Season("spring"), baseline=Baseline(AS_OF)), 1),
        (made(OIL, baseline=Baseline(AS_OF, {"odometer": Decimal(40000)})), 4),
    ],
)
def test_it_is_not_looked_at_daily(rig: Rig, steps: int) -> None:
    """From one day that it names to the next, the change is met on its very day, in a
    few steps (more than one only for what rests on a forecast)."""
    expected = first_change(rig, 500)
    assert expected is not None
    on, looked = AS_OF, 0
    while on < expected:
        on = stand(rig, on)[0].changes_on
        looked += 1
    assert on == expected
    assert looked <= steps


def test_what_is_overdue_never_changes_by_itself() -> None:
    rig = made(EveryTime(Span(months=12)), baseline=Baseline(AS_OF))
    assert stand(rig, AS_OF + 700 * DAY)[0].changes_on == date.max  # overdue it stays


def test_a_stay_or_a_trip_ahead_is_a_day_to_look_again() -> None:
    rig = made(OIL)
    trip = Trip(AS_OF + 9 * DAY, AS_OF + 12 * DAY)
    stay = Stay(AS_OF + 5 * DAY, None, AS_OF + 90 * DAY)
    ahead = Rig(rig.meters, rig.items, stays=(stay,), trips=(trip,))
    assert stand(rig, AS_OF)[0].changes_on == date.max
    assert stand(ahead, AS_OF)[0].changes_on == AS_OF + 5 * DAY
