"""Wires against the published copper wire table and the arithmetic of Ohm."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.wiring import (
    GAUGES,
    resistance,
    thinnest,
    voltage_drop,
)

D = Decimal


# ASTM B258, nominal diameters in inches.
@pytest.mark.parametrize(
    ("gauge", "inches"),
    [("18", "0.0403"), ("10", "0.1019"), ("1", "0.2893"), ("4/0", "0.4600")],
)
def test_gauge_has_its_diameter(gauge: str, inches: str) -> None:
    assert abs(GAUGES[gauge] / D("25.4") - D(inches)) <= D("0.00005")


# Copper wire tables of the National Bureau of Standards, Ω per 1,000 ft at 20 °C,
# from memory.
@pytest.mark.parametrize(
    ("gauge", "ohms"),
    [("18", "6.385"), ("14", "2.525"), ("10", "0.9989"), ("4/0", "0.04901")],
)
def test_resistance_is_that_of_the_copper_wire_tables(gauge: str, ohms: str) -> None:
    found = resistance(gauge, 500) * 2
    assert abs(found / D(ohms) - 1) < D("0.0005")


def test_ten_amps_on_twenty_feet_of_ten_gauge() -> None:
    """2 · 10 A · 0.01998 Ω = 0.40 V, computed from the table: 3.3 % of 12 V."""
    found = voltage_drop("10", amps=10, feet=20, volts=12)
    assert round(found.lost.value, 2) == D("0.40")
    assert round(found.percent, 1) == D("3.3")
    assert (found.small, found.bearable) == (False, True)
    assert thinnest(amps=10, feet=20, volts=12) == "8"


def test_same_wire_at_120_volts_loses_a_tenth_of_the_share() -> None:
    low, high = (voltage_drop("10", amps=10, feet=20, volts=v) for v in (12, 120))
    assert low.lost.value == high.lost.value
    assert low.percent == high.percent * 10


def test_no_wire_is_thick_enough_for_everything() -> None:
    assert thinnest(amps=400, feet=500, volts=12) == ""


@pytest.mark.parametrize(
    ("amps", "feet", "volts"),
    [(0, 20, 12), (10, 0, 12), (10, 20, 0), (500, 20, 12), (10, 900, 12)],
)
def test_figure_that_cannot_be_is_refused(amps: int, feet: int, volts: int) -> None:
    with pytest.raises(CalculatorError):
        voltage_drop("10", amps=amps, feet=feet, volts=volts)


@given(st.sampled_from(list(GAUGES)), st.integers(1, 400), st.integers(1, 250))
def test_longer_never_loses_less_nor_more_than_there_is(
    gauge: str, amps: int, feet: int
) -> None:
    near, far = (
        voltage_drop(gauge, amps=amps, feet=x, volts=12).lost.value
        for x in (feet, feet * 2)
    )
    assert near <= far <= 12
