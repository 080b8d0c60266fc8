"""The figures of torque as a page shows them."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.torque import TorqueError, Wrench
from maintenance.core.calculators.torque_answers import (
    CAUTIONS,
    adapter,
    cycles_left,
    in_unit,
    lowest_usable,
    tolerance,
)

D = Decimal


def test_a_torque_in_another_unit_shows_its_factor() -> None:
    # computed from the exact definitions: 100 ft·lbf = 135.5818 N·m
    got = in_unit(100, "ft·lbf", "N·m")
    assert abs(got.value - D("135.5818")) <= D("0.0001")
    assert got.formula == "100 ft·lbf · 1.355818 = 135.58 N·m"


def test_an_adapter_shows_its_arms() -> None:
    # torque-tool information page: 30 by 12 and 6 is 20
    got = adapter(30, "ft·lbf", length=12, extension=6)
    assert (got.value, got.unit) == (20, "ft·lbf")
    assert got.formula == "30 · 12 ÷ (12 + 6) = 20 ft·lbf"
    assert got.cautions == CAUTIONS


def test_an_adapter_at_an_angle_shows_the_angle() -> None:
    # calculator page: 90 degrees needs no correction
    got = adapter(80, "N·m", length=40, extension=5, angle=90)
    assert got.value == 80
    assert "5 · cos 90°" in got.formula


def test_a_tolerance_is_a_band() -> None:
    # ISO 6789:2003: 120 N·m at ±4 %
    low, high = tolerance(120, "N·m", 4)
    assert (low.value, high.value) == (D("115.2"), D("124.8"))


def test_lowest_usable_by_the_older_and_the_newer_rule() -> None:
    # TM 1-1500-204-23-9: 20 % of 150 is 30; the lowest mark is common practice
    # (ISO 6789-1:2017, as a maker tells it)
    assert lowest_usable(Wrench(D(150), "ft·lbf"), 90, "ft·lbf").value == 30
    marked = lowest_usable(Wrench(D(150), "ft·lbf", D(10)), 90, "ft·lbf")
    assert marked.value == 10
    assert "older rule: 0.20 · 150 = 30" in marked.formula


def test_cycles_left_says_why_it_is_due() -> None:
    # ISO 6789:2003: 12 months or 5,000 cycles
    day = date(2024, 3, 10)
    late = cycles_left(day, as_of=date(2025, 3, 11), cycles=300)
    assert (late.value, late.formula[:11]) == (0, "due by time")
    assert cycles_left(day, as_of=date(2024, 9, 1), cycles=300).value == 4700


@pytest.mark.parametrize("torque", ["0", "-5", "NaN", "99999"])
def test_a_torque_that_cannot_be_is_refused(torque: str) -> None:
    with pytest.raises(CalculatorError, match="The torque"):
        in_unit(D(torque), "N·m", "ft·lbf")


def test_refusals_of_torque_are_refusals_of_the_bench() -> None:
    assert issubclass(TorqueError, CalculatorError)
    with pytest.raises(CalculatorError, match="shorter than the wrench"):
        adapter(90, "N·m", length=12, extension=12, angle=180)
