"""Seasons, stays that recur, habits that change, and how sure the forecast is."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.core.facts import Stay
from maintenance.core.forecast import fit
from tests.core.forecast_builders import (
    Readings,
    ahead,
    drive,
    in_order,
    only_in,
    steady,
)

SUMMER = range(5, 10)
WINTERS = [
    Stay(date(2022, 10, 12), date(2023, 4, 20)),
    Stay(date(2023, 10, 3), date(2024, 4, 25)),
    Stay(date(2024, 10, 8), date(2025, 4, 22)),
]


def summers(end: date) -> Readings:
    return drive(date(2022, 5, 1), end, only_in(SUMMER, 20.0), every=16)


def likely(readings: Readings, as_of: date, more: int, *stays: Stay) -> date:
    use = fit(readings, unit="mi", as_of=as_of, stays=stays)
    found = use.reach(readings[-1][1] + more).likely
    assert found is not None
    return found


def test_the_same_season_a_year_ago_counts() -> None:
    autumn, spring = date(2025, 10, 20), date(2026, 4, 20)
    # 600 mi: 30 days of summer. None of them before May.
    assert date(2026, 5, 1) <= likely(summers(autumn), autumn, 600) < date(2026, 7, 1)
    assert date(2026, 5, 10) <= likely(summers(spring), spring, 600) < date(2026, 6, 25)
    july = date(2025, 7, 1)
    assert date(2025, 7, 21) <= likely(summers(july), july, 600) < date(2025, 8, 10)


def test_a_rig_parked_every_winter_is_parked_in_the_next() -> None:
    as_of = date(2025, 9, 20)
    readings = drive(
        date(2022, 5, 1),
        as_of,
        lambda on: (
            0.0 if any(s.start <= on < s.until for s in WINTERS if s.until) else 20
        ),
    )
    without = likely(readings, as_of, 1200)
    learned = likely(readings, as_of, 1200, *WINTERS)
    assert without > date(2026, 4, 1)  # the readings show it too
    assert date(2026, 5, 1) < learned < date(2026, 6, 25)


def test_the_stay_now_on_ends_as_it_used_to() -> None:
    as_of = date(2026, 1, 10)
    now = Stay(date(2025, 10, 9))
    readings = drive(date(2025, 4, 22), date(2025, 10, 9), lambda _on: 20.0)
    found = likely(readings, as_of, 300, *WINTERS, now)
    assert date(2026, 4, 25) < found < date(2026, 6, 10)


def test_a_first_stay_without_an_end_gives_no_date() -> None:
    readings = steady(date(2025, 10, 9))
    use = fit(
        readings, unit="mi", as_of=date(2026, 1, 10), stays=[Stay(date(2025, 10, 9))]
    )
    assert use.reach(readings[-1][1] + 300).late is None
    assert use.reach(readings[-1][1] + 300).early is None


def test_a_stay_ahead_that_is_entered_replaces_the_usual_one() -> None:
    as_of = date(2025, 9, 20)
    readings = drive(date(2024, 4, 25), as_of, only_in(range(4, 11), 20.0))
    short = Stay(date(2025, 10, 8), None, planned_until=date(2025, 11, 20))
    usual = likely(readings, as_of, 900, *WINTERS)
    assert likely(readings, as_of, 900, *WINTERS, short) < usual


@pytest.mark.parametrize(("before", "now"), [(40, 12), (40, 90), (15, 45)])
@pytest.mark.parametrize("every", [10, 21])
def test_a_change_of_habit_is_caught_within_two_months(
    before: int, now: int, every: int
) -> None:
    as_of = date(2026, 5, 4)
    changed = as_of - timedelta(days=63)
    readings = drive(
        as_of - timedelta(days=900),
        as_of,
        lambda on: float(now if on > changed else before),
        every=every,
    )
    days = (likely(readings, as_of, 3000) - as_of).days
    # Nearer to the new habit than to the old one, as a ratio.
    assert abs_ratio(days, 3000 / now) < abs_ratio(days, 3000 / before)


def abs_ratio(one: float, other: float) -> float:
    return max(one / other, other / one)


def test_one_busy_fortnight_is_no_new_habit() -> None:
    as_of = date(2026, 5, 4)
    holiday = as_of - timedelta(days=14)
    readings = drive(
        as_of - timedelta(days=900), as_of, lambda on: 150.0 if on > holiday else 20.0
    )
    days = (likely(readings, as_of, 3000) - as_of).days
    assert days > 75  # 150 at the usual pace, 20 at the holiday's


def test_fewer_readings_make_a_wider_band() -> None:
    as_of = date(2026, 5, 4)
    widths = []
    for days in (30, 120, 900):
        readings = steady(as_of, days=days)
        use = fit(readings, unit="mi", as_of=as_of)
        early, _middle, late = ahead(use.reach(readings[-1][1] + 1000), as_of)
        widths.append(late - early)
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 1.3 * widths[-1]


def test_few_readings_are_owned_up_to() -> None:
    as_of = date(2026, 5, 4)
    why = fit(steady(as_of, days=28), unit="mi", as_of=as_of).why
    assert [fact.key for fact in why] == ["forecast_rests_on", "forecast_few_readings"]


def test_lumpy_use_makes_a_wider_band_than_steady_use() -> None:
    as_of = date(2026, 5, 4)
    tours = drive(
        as_of - timedelta(days=730),
        as_of,
        lambda on: 600.0 if on.toordinal() % 30 == hash_day(on) else 0.0,
        every=10,
    )
    even = steady(as_of, every=10)
    spans = []
    for readings in (even, tours):
        dates = fit(readings, unit="mi", as_of=as_of).reach(readings[-1][1] + 1000)
        early, _likely, late = in_order(dates)
        spans.append((late - early).days)
    assert spans[1] > spans[0] * 1.3


def hash_day(on: date) -> int:
    """A day of the thirty that moves about from tour to tour."""
    return on.toordinal() // 30 * 7 % 30


def test_clustered_readings_say_what_even_ones_say() -> None:
    as_of = date(2026, 5, 4)
    every_day = steady(as_of, every=1)
    clustered = [one for i, one in enumerate(every_day) if i % 60 < 4] + every_day[-1:]
    whole = likely(every_day, as_of, 2000)
    assert abs((likely(clustered, as_of, 2000) - whole).days) <= 10


def test_use_is_expected_to_go_on_after_a_long_silence() -> None:
    last = date(2025, 5, 4)
    readings = steady(last)
    dates = fit(readings, unit="mi", as_of=date(2026, 5, 4)).reach(
        readings[-1][1] + Decimal(10_000)
    )
    early, middle, late = in_order(dates)
    assert early < middle < late
    assert abs((middle - last).days - 500) < 60
