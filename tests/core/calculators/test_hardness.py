"""Hardness classes and the aerators they ask for."""

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.hardness import from_grains, hardness

UNITS = pint.UnitRegistry()


# yearly, six-monthly with hard water: common practice; hard from 121 mg/L (USGS)
@pytest.mark.parametrize(("value", "days"), [(0, 365), (120, 365), (121, 182)])
def test_hard_water_halves_the_aerator_interval(value: int, days: int) -> None:
    assert hardness(value).aerator_days == days


def test_grains_agree_with_pint() -> None:
    expected = (7 * UNITS.grain / UNITS.US_liquid_gallon).to("mg/L").magnitude
    assert float(from_grains(7).value) == pytest.approx(expected, rel=1e-9)


@given(st.decimals("0", "1999", places=1))
def test_harder_never_asks_less_often(value: Decimal) -> None:
    assert hardness(value + 1).aerator_days <= hardness(value).aerator_days


@pytest.mark.parametrize("value", ["-1", "2001", "NaN", "Infinity"])
def test_a_hardness_that_cannot_be_is_refused(value: str) -> None:
    with pytest.raises(CalculatorError, match="0 to 2,000 mg/L"):
        hardness(Decimal(value))
