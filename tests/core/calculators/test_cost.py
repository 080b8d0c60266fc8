"""Fuel between full fills, and what a year may cost."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.cost import (
    Fill,
    Job,
    cost_per_distance,
    cost_per_night,
    fuel_economy,
    fuel_stretches,
    year_ahead,
)

D = Decimal


def fill(odometer: int, volume: str, **more: object) -> Fill:
    return Fill(D(odometer), D(volume), **more)  # type: ignore[arg-type]


def test_a_part_fill_is_added_to_the_next_full_one() -> None:
    fills = [fill(1000, "30"), fill(1100, "5", full=False), fill(1300, "20")]
    (stretch,) = fuel_stretches(fills)
    assert (stretch.distance, stretch.volume, stretch.economy) == (300, 25, 12)


def test_a_missed_fill_leaves_its_stretch_out() -> None:
    fills = [fill(1000, "30"), fill(1600, "20", missed=True), fill(1900, "25")]
    assert [s.distance for s in fuel_stretches(fills)] == [300]


def test_fuel_before_the_first_full_tank_counts_for_nothing() -> None:
    fills = [fill(900, "10", full=False), fill(1000, "30"), fill(1200, "20")]
    got = fuel_economy(fills)
    assert got is not None
    assert (got.value, got.unit) == (10, "mi/gal")


def test_the_cost_is_unknown_where_one_price_is() -> None:
    priced = [
        fill(1000, "30"),
        fill(1100, "5", full=False),
        fill(1300, "9", cost=D(40)),
    ]
    assert fuel_stretches(priced)[0].cost is None
    whole = [fill(1000, "30"), fill(1300, "9", cost=D(40))]
    assert fuel_stretches(whole)[0].cost == 40


@pytest.mark.parametrize("fills", [[], [fill(1000, "30")]])
def test_one_full_tank_tells_nothing(fills: list[Fill]) -> None:
    assert fuel_economy(fills) is None


@pytest.mark.parametrize(
    ("fills", "message"),
    [
        ([fill(1000, "30"), fill(900, "20")], "The odometer: 900 .* 1,000 and more"),
        ([fill(1000, "0")], "The fuel: 0"),
        ([fill(1000, "NaN")], "The fuel: NaN"),
        ([fill(1000, "9", cost=D(-1))], "The cost: -1"),
    ],
)
def test_a_fill_that_cannot_be_is_refused(fills: list[Fill], message: str) -> None:
    with pytest.raises(CalculatorError, match=message):
        fuel_stretches(fills)


def test_cost_for_each_mile_and_night() -> None:
    assert cost_per_distance(500, 2000, unit="mi", money_words=str).value == D("0.25")
    assert cost_per_night(450, 10, money_words=str).value == 45
    with pytest.raises(CalculatorError, match="The distance: 0"):
        cost_per_distance(500, 0, unit="mi", money_words=str)
    with pytest.raises(CalculatorError, match="The number of nights"):
        cost_per_night(500, 0, money_words=str)


TODAY = date(2026, 5, 4)


def test_a_year_is_a_span_of_windows_times_prices() -> None:
    # until 2027-05-04: the first closes in it, the second only opens in it
    windows = (
        (date(2026, 9, 1), date(2026, 10, 1)),
        (date(2027, 4, 20), date(2027, 5, 20)),
    )
    oil = Job("oil", windows, (D(90), D(100), D(130)))
    got = year_ahead([oil, Job("tires", windows[:1], ())], as_of=TODAY)
    assert (got.low, got.likely, got.high) == (90, 100, 260)
    assert (got.until, got.without_price) == (date(2027, 5, 4), ("tires",))


def test_overdue_work_is_still_to_be_paid() -> None:
    overdue = Job("oil", ((date(2026, 1, 1), date(2026, 2, 1)),), (D(90),))
    got = year_ahead([overdue], as_of=TODAY)
    assert got.low == got.likely == got.high == 90


def test_work_beyond_the_year_costs_nothing_yet() -> None:
    far = Job("roof", ((date(2028, 1, 1), date(2028, 2, 1)),), ())
    got = year_ahead([far], as_of=TODAY)
    assert (got.high, got.without_price) == (0, ())


def test_a_window_that_closes_on_the_last_day_counts() -> None:
    last = Job("oil", ((date(2027, 4, 4), date(2027, 5, 4)),), (D(90),))
    assert year_ahead([last], as_of=TODAY).low == 90


def test_a_window_that_closes_before_it_opens_is_refused() -> None:
    bad = Job("oil", ((date(2026, 2, 1), date(2026, 1, 1)),), (D(90),))
    with pytest.raises(CalculatorError, match="oil: the window"):
        year_ahead([bad], as_of=TODAY)


STEPS = st.lists(
    st.tuples(st.integers(1, 500), st.integers(1, 80), st.booleans()), max_size=12
)


@given(STEPS)
def test_stretches_never_cover_more_than_was_driven(
    steps: list[tuple[int, int, bool]],
) -> None:
    at, fills = 1000, []
    for distance, volume, full in steps:
        at += distance
        fills.append(Fill(D(at), D(volume), full))
    stretches = fuel_stretches(fills)
    assert sum(s.distance for s in stretches) <= at - 1000
    assert sum(s.volume for s in stretches) <= sum(f.volume for f in fills)


@given(
    st.lists(st.tuples(st.integers(0, 700), st.integers(0, 90)), max_size=6),
    st.lists(st.integers(0, 5000), max_size=5),
)
def test_a_year_is_low_then_likely_then_high(
    spans: list[tuple[int, int]], prices: list[int]
) -> None:
    start = TODAY.toordinal()
    windows = tuple(
        (date.fromordinal(start + o), date.fromordinal(start + o + d)) for o, d in spans
    )
    job = Job("oil", windows, tuple(D(price) for price in prices))
    got = year_ahead([job], as_of=TODAY)
    assert 0 <= got.low <= got.likely <= got.high
