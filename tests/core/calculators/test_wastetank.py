"""Volumes of waste tanks, against pint, and what to clean with."""

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.wastetank import (
    CAUTIONS,
    box_volume,
    cleaning_amounts,
    cylinder_volume,
    dump_level,
)

D = Decimal
UNITS = pint.UnitRegistry()
INCHES = st.decimals("1", "100", places=1)


@given(INCHES, INCHES, INCHES)
def test_a_box_agrees_with_pint(a: Decimal, b: Decimal, c: Decimal) -> None:
    expected = (float(a * b * c) * UNITS.inch**3).to("US_liquid_gallon").magnitude
    assert float(box_volume(a, b, c).value) == pytest.approx(expected, rel=1e-9)


@given(INCHES, INCHES)
def test_a_cylinder_fits_into_its_box(diameter: Decimal, length: Decimal) -> None:
    box = box_volume(diameter, diameter, length).value
    part = cylinder_volume(diameter, length).value / box
    assert abs(part - D("0.785398163")) < D("1e-9")  # a quarter of pi


def test_cleaning_fills_from_two_thirds_to_three_quarters() -> None:
    # common practice: two thirds to three quarters full, a 2.5 to 5 lb bag of ice
    got = cleaning_amounts(40)
    assert got.fill.least == dump_level(40).value
    assert got.fill.most == 30
    assert (got.ice.least, got.ice.most) == (D("2.5"), 5)
    assert "results disputed" in got.source


def test_start_water_is_never_more_than_the_tank() -> None:
    # RV pages: 1 to 2 gal
    big, small = cleaning_amounts(40).start_water, cleaning_amounts(1).start_water
    assert (big.least, big.most, small.most) == (1, 2, 1)


def test_a_tank_vent_stays_open() -> None:
    assert any("Never close off a tank's vent" in caution for caution in CAUTIONS)


@pytest.mark.parametrize("side", ["0", "-4", "301", "NaN"])
def test_a_side_that_cannot_be_is_refused(side: str) -> None:
    with pytest.raises(CalculatorError, match=r"Enter 1 to 300 in\."):
        box_volume(D(side), 24, 10)
