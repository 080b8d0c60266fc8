"""The forecast at its edges: what it must never say, whatever the readings are."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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


def test_steady_use_is_carried_on():
    early, likely, late = days_to(use(steady(20, 700)).reach(Decimal(14_000 + 1_000)))

    assert early < likely < late
    assert 35 <= likely <= 65  # 1,000 miles at 20 a day: 50 days


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


def test_value_already_reached_gives_its_day():
    found = use(steady(20, 100)).reach(Decimal(1_000))

    assert found.early == found.likely == found.late == AS_OF - timedelta(days=50)


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


def test_planned_stay_puts_the_day_off():
    target = Decimal(14_000 + 600)
    stay = Stay(AS_OF + timedelta(days=5), planned_until=AS_OF + timedelta(days=155))

    without = use(steady(20, 700)).reach(target)
    stored = use(steady(20, 700), stays=[stay]).reach(target)

    assert (stored.likely - without.likely).days >= 120


def test_planned_trip_brings_the_day_on():
    target = Decimal(1_400 + 1_500)
    trip = Trip(
        AS_OF + timedelta(days=3), AS_OF + timedelta(days=17), distance=Decimal(1_800)
    )

    found = use(steady(2, 700), trips=[trip]).reach(target)

    assert found.likely <= AS_OF + timedelta(days=17)


def test_planned_trip_inside_a_stay_gives_no_error():
    trip = Trip(AS_OF + timedelta(3), AS_OF + timedelta(9), distance=Decimal(500))
    stay = Stay(AS_OF, planned_until=AS_OF + timedelta(days=90))

    found = use(steady(20, 700), stays=[stay], trips=[trip]).reach(Decimal(14_300))

    assert found.likely is not None


def test_winters_without_use_are_learned_though_nobody_entered_them():
    """Parked from November to March, three winters long, on the eve of a fourth."""
    as_of, value, readings = date(2025, 11, 1), 0.0, []
    for ago in range(3 * 365, -1, -7):
        day = as_of - timedelta(days=ago)
        value += 0 if day.month in {11, 12, 1, 2, 3} else 7 * 20
        readings.append((day, Decimal(round(value))))

    found = fit(readings, unit="mi", as_of=as_of).reach(Decimal(round(value) + 600))

    assert found.likely >= date(2026, 3, 15)


def test_change_of_habit_is_caught_within_two_months():
    """Ten miles a day for two years, then sixty for sixty days."""
    old = [
        (AS_OF - timedelta(days=d), Decimal(10 * (760 - d)))
        for d in range(760, 60, -10)
    ]
    new = [
        (AS_OF - timedelta(days=d), Decimal(7_000 + 60 * (60 - d)))
        for d in range(60, -1, -10)
    ]

    found = use([*old, *new]).reach(new[-1][1] + 1_200)

    # 20 days at the new rate, 120 at the old one: the new one weighs more by far.
    assert days_to(found)[1] <= 55


def test_same_readings_give_the_same_dates():
    readings, target = steady(15, 500), Decimal(9_000)

    assert use(readings).reach(target) == use(readings).reach(target)


def test_it_says_on_what_it_rests():
    (fact, *_more) = use(steady(20, 700)).why

    assert fact.key == "forecast_rests_on"
    assert fact.values["readings"] == 71


steps = st.lists(
    st.tuples(st.integers(1, 60), st.integers(0, 4_000)), min_size=1, max_size=40
)


@settings(max_examples=150, deadline=None)
@given(steps, st.integers(1, 20_000), st.integers(1, 5_000))
def test_dates_are_in_order_never_past_and_later_for_more(steps, ahead, more):
    day = AS_OF - timedelta(days=sum(gap for gap, _ in steps))
    value, readings = Decimal(0), [(day, Decimal(0))]
    for gap, driven in steps:
        day, value = day + timedelta(days=gap), value + driven
        readings.append((day, value))
    found = use(readings)

    near, far = found.reach(value + ahead), found.reach(value + ahead + more)

    for dates in (near, far):
        known = [d or date.max for d in (dates.early, dates.likely, dates.late)]
        assert known == sorted(known)
        assert known[0] >= AS_OF
    assert (near.likely or date.max) <= (far.likely or date.max)


def test_band_widens_and_never_falls():
    band = use(steady(20, 700)).band(AS_OF + timedelta(days=360))

    for (_, low, middle, high), (_, low2, middle2, high2) in pairwise(band):
        assert low <= low2
        assert middle <= middle2
        assert high <= high2
    assert band[-1][3] - band[-1][1] > band[0][3] - band[0][1]
