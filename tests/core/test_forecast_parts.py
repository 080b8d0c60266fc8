"""The parts of the estimator against outside figures and by hand."""

import math
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from maintenance.core.facts import Stay
from maintenance.core.forecast.days import stored_days
from maintenance.core.forecast.habit import follow, in_hindsight, log_gamma
from maintenance.core.forecast.history import History, read_history
from maintenance.core.forecast.season import around, even_year, shape_year
from maintenance.core.forecast.spread import LEVELS, levels_now, use_ahead
from maintenance.core.forecast.storage import stored_ahead
from maintenance.core.forecast.year import HALF_MONTHS, Year, year_between

FIRST = date(2024, 1, 1)


def history_of(on: list[int], values: list[int], stays: tuple[Stay, ...]) -> History:
    days = [FIRST + timedelta(days=n) for n in on]
    stored = stored_days(stays, as_of=days[-1], first=FIRST, length=on[-1])
    entered = [Decimal(v) for v in values]
    return read_history(days, entered, np.array(on), stored, Year())


@given(st.floats(1e-6, 1e6))
def test_log_gamma_against_the_standard_library(x: float) -> None:
    found = float(log_gamma(np.array([x]))[0])
    assert found == pytest.approx(math.lgamma(x), rel=1e-7, abs=4e-6)


def test_a_fortnight_lies_wholly_in_its_half_month() -> None:
    left, right, share = Year().half_months(FIRST, 366)
    assert set(left) == set(right) == set(range(HALF_MONTHS))
    assert all((right - left) % HALF_MONTHS == 1)
    assert all((share >= 0) & (share < 1))


def test_days_in_use_leave_out_the_stay() -> None:
    stay = Stay(FIRST + timedelta(days=40), FIRST + timedelta(days=70))
    history = history_of([0, 30, 100], [0, 600, 900], (stay,))
    assert history.days_in_use == pytest.approx([30, 40])  # 70 days less 30
    assert history.use == pytest.approx([600, 300])


def test_readings_closer_than_a_week_are_taken_together() -> None:
    history = history_of([0, 2, 5, 9, 30, 32], [0, 1, 2, 300, 310, 330], ())
    assert history.at.tolist() == [0, 9, 30, 32]
    assert history.use == pytest.approx([300, 10, 20])


def test_use_while_entered_as_stored_still_counts() -> None:
    stay = Stay(FIRST, FIRST + timedelta(days=60))
    history = history_of([0, 30, 60], [0, 500, 500], (stay,))
    assert history.days_in_use == pytest.approx([30, 0])


def test_the_shape_of_a_year_is_found_from_its_spans() -> None:
    """Two years by 20 days, used from May to October only."""
    on = list(range(0, 731, 20))
    used = [20 if 120 <= n % 365.25 < 304 else 0 for n in on]
    values = np.concatenate(([0], np.cumsum(np.multiply(used[:-1], 20)))).tolist()
    history = history_of(on, values, ())
    shape = shape_year(history, np.full(len(on) - 1, 10.0), even_year())
    assert min(shape[10:18]) > 1.4  # June to September
    assert max(shape[:5].max(), shape[22:].max()) < 0.3


def test_the_mean_around_keeps_an_even_year_even() -> None:
    assert around(even_year()) == pytest.approx(even_year())


def test_a_steady_level_is_found() -> None:
    habit = follow(np.full(40, 7.0), np.full(40, 14.0), np.full(40, 14), 0.3)
    assert habit.weight.sum() == pytest.approx(1)
    assert habit.weight @ (habit.shape / habit.rate) == pytest.approx(0.5, rel=0.05)


def test_a_changed_level_is_found_and_dated_in_hindsight() -> None:
    lumps = np.array([7.0] * 30 + [21.0] * 5)
    habit = follow(lumps, np.full(35, 14.0), np.full(35, 14), 0.5)
    assert habit.since[habit.weight.argmax()] == 30
    level = in_hindsight(habit)
    assert level[29] == pytest.approx(0.5, rel=0.1)
    assert level[30] > 1  # at once, though its first fortnight alone told little
    assert habit.path[30] < 1
    assert level[34] == pytest.approx(1.5, rel=0.2)


def test_levels_now_are_quantiles_of_the_gammas_they_stand_for() -> None:
    """Against scipy's exact gamma, where one habit holds; against numpy's quantiles of
    draws from both, where two may."""
    habit = follow(np.full(30, 7.0), np.full(30, 14.0), np.full(30, 14), 0.5)
    draws = np.random.default_rng(1).random(60_000)
    pick = np.searchsorted(np.cumsum(habit.weight), draws, side="right")
    pick = np.minimum(pick, len(habit.weight) - 1)
    drawn = stats.gamma.rvs(
        habit.shape[pick], scale=1 / habit.rate[pick], random_state=2
    )
    points = levels_now(habit)
    wanted = np.quantile(drawn, (np.arange(len(points)) + 0.5) / len(points))
    assert points[2:-2] == pytest.approx(wanted[2:-2], rel=0.04)
    assert points == pytest.approx(wanted, rel=0.12)


def test_use_ahead_has_the_quantiles_of_its_mixture() -> None:
    habit = follow(np.full(30, 7.0), np.full(30, 14.0), np.full(30, 14), 0.5)
    lump, days = 100.0, np.array([0.0, 100.0])
    rows = use_ahead(levels_now(habit), lump, days)
    rng = np.random.default_rng(3)
    mean = lump * 100 * rng.choice(levels_now(habit), 40_000)
    timing = 1 + 2.5 / 2  # at 100 days half of it has evened out
    variance = timing * lump * mean + (0.17 * mean) ** 2
    drawn = rng.gamma(mean**2 / variance, variance / mean)
    assert rows[:, 0].tolist() == [0, 0, 0]
    assert rows[:, 1] == pytest.approx(np.quantile(drawn, LEVELS), rel=0.03)


def test_stays_recur_as_often_as_they_did() -> None:
    as_of = date(2026, 7, 1)
    winters = [Stay(date(y, 11, 1), date(y + 1, 3, 1)) for y in (2022, 2024, 2025)]
    share = stored_ahead(
        winters, as_of=as_of, first=date(2022, 7, 1), last=as_of, length=400
    )
    in_winter = share[(date(2027, 1, 1) - as_of).days]
    assert 0.6 < in_winter < 0.9  # three winters of four, the last one surest
    assert share[(date(2026, 8, 1) - as_of).days] < 0.02


def test_a_stay_entered_ahead_is_certain_and_the_only_one_near() -> None:
    as_of = date(2026, 10, 1)
    winters = [Stay(date(y, 11, 1), date(y + 1, 3, 1)) for y in (2022, 2023, 2024)]
    ahead = Stay(date(2026, 12, 1), planned_until=date(2027, 2, 1))
    share = stored_ahead(
        [*winters, ahead],
        as_of=as_of,
        first=date(2022, 7, 1),
        last=as_of,
        length=700,
    )
    by_day = {as_of + timedelta(days=n): one for n, one in enumerate(share)}
    assert by_day[date(2026, 11, 30)] == 0
    assert by_day[date(2026, 12, 1)] == by_day[date(2027, 1, 31)] == 1
    assert by_day[date(2027, 2, 1)] == 0
    assert by_day[date(2028, 1, 1)] > 0.5  # the winter after is a usual one again


def place_of(year: Year, on: date) -> float:
    """Half months since New Year, by the place in the rig's year."""
    left, _right, share = year.half_months(on, 1)
    return float(left[0] + share[0])


def test_a_year_without_stays_is_the_calendar() -> None:
    middle = place_of(year_between([], FIRST), date(2025, 7, 2))
    assert middle == pytest.approx(12, abs=0.2)
    assert year_between([Stay(date(2023, 5, 1), date(2023, 5, 20))], FIRST) == Year()


def test_seasons_lie_between_the_stays() -> None:
    """Stored from 1 November to 1 April; once three weeks earlier, then as planned."""
    usual = [Stay(date(y, 11, 1), date(y + 1, 4, 1)) for y in (2022, 2023)]
    early = Stay(date(2024, 10, 11), date(2025, 4, 1))
    year = year_between([*usual, early], date(2025, 6, 1))
    into, out = place_of(year, date(2023, 11, 1)), place_of(year, date(2024, 4, 1))
    assert place_of(year, date(2024, 10, 11)) == pytest.approx(into, abs=0.1)
    assert place_of(year, date(2025, 4, 1)) == pytest.approx(out, abs=0.1)
    # Half way through the shorter season is half way through any.
    half = place_of(year, date(2024, 7, 6))
    assert half == pytest.approx((into + out) / 2, abs=0.2)
    # What is not entered is as usual again.
    assert place_of(year, date(2026, 11, 1)) == pytest.approx(into, abs=0.1)


def test_a_stay_out_of_season_does_not_move_the_year() -> None:
    usual = [Stay(date(y, 11, 1), date(y + 1, 4, 1)) for y in (2022, 2023)]
    as_of = date(2024, 9, 1)
    odd = Stay(date(2024, 6, 1), date(2024, 8, 1))
    planned = Stay(date(2024, 11, 20), planned_until=date(2025, 4, 10))
    year, plain = year_between([*usual, odd], as_of), year_between(usual, as_of)
    on = date(2024, 7, 1)
    assert place_of(year, on) == pytest.approx(place_of(plain, on), abs=0.1)
    moved = year_between([*usual, planned], as_of)
    assert place_of(moved, date(2024, 11, 20)) == pytest.approx(
        place_of(plain, date(2024, 11, 1)), abs=0.1
    )
