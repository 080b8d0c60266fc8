"""The forecast at its edges: what it must never say, whatever the readings are."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.core.facts import Stay, Trip
from maintenance.core.forecast import fit

AS_OF = date(2026, 5, 4)
FIFTEEN_YEARS = timedelta(days=15 * 366)


def steady(per_day: float, days: int, every: int = 10):
    """Readings up to AS_OF at a steady rate."""
    return [
        (AS_OF - timedelta(days=ago), Decimal(round(per_day * (days - ago))))
        for ago in range(days, -1, -every)
    ]


def use(readings, **more):
    return fit(readings, unit="mi", as_of=AS_OF, **more)


def days_to(dates):
    return [(day - AS_OF).days for day in (dates.early, dates.likely, dates.late)]


@pytest.mark.parametrize(
    "readings",
    [
        [],
        [(AS_OF, Decimal(42_000))],
        [(AS_OF - timedelta(days=300), Decimal(5)), (AS_OF, Decimal(5))],
    ],
    ids=["no reading", "one reading", "no use"],
)
def test_without_use_there_is_no_day(readings):
    found = use(readings).reach(Decimal(43_000))

    assert (found.early, found.likely, found.late) == (None, None, None)


def test_all_use_in_one_day_gives_no_absurd_date():
    day = AS_OF - timedelta(days=200)
    readings = [(day, Decimal(0)), (day + timedelta(days=1), Decimal(900))]

    found = use([*readings, (AS_OF, Decimal(900))]).reach(Decimal(2_000))

    days = [d for d in (found.early, found.likely, found.late) if d]
    assert all(AS_OF <= day <= AS_OF + FIFTEEN_YEARS for day in days)


def test_what_takes_longer_than_fifteen_years_has_no_day():
    assert use(steady(1, 700)).reach(Decimal(900_000)).likely is None


def test_forty_years_of_daily_readings_are_taken():
    found = use(steady(12, 40 * 365, every=1)).reach(Decimal(12 * 40 * 365 + 600))

    assert 35 <= days_to(found)[1] <= 70


def test_planned_trip_inside_a_stay_gives_no_error():
    trip = Trip(AS_OF + timedelta(3), AS_OF + timedelta(9), distance=Decimal(500))
    stay = Stay(AS_OF, planned_until=AS_OF + timedelta(days=90))

    found = use(steady(20, 700), stays=[stay], trips=[trip]).reach(Decimal(14_300))

    assert found.likely is not None
