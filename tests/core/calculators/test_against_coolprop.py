"""Formulas of the calculators against CoolProp. One file: to import CoolProp takes
seconds, so no other test does, and these only when they are run."""

from collections.abc import Callable
from decimal import Decimal
from importlib import import_module

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators import drains, propane
from maintenance.core.calculators.antifreeze import freeze_point
from tests.core.calculators.test_drains import CELSIUS, HUMIDITY

FAHRENHEIT = st.decimals("-44", "130", places=1)
Props = Callable[..., float]


@pytest.fixture(scope="module")
def props() -> Props:
    """A property of a fluid, in SI."""
    found: Props = import_module("CoolProp.CoolProp").PropsSI
    return found


@pytest.mark.parametrize("percent", [5, 10, 15, 20, 25, 30, 35, 40, 45, 50])
def test_freeze_point_of_glycol(props: Props, percent: int) -> None:
    kelvin = props("T_freeze", "T", 300, "P", 101325, f"INCOMP::MPG[{percent / 100}]")
    assert abs(float(freeze_point(percent).value) - (kelvin * 1.8 - 459.67)) <= 2.5


@given(at=FAHRENHEIT)
def test_vapor_pressure_of_propane(props: Props, at: Decimal) -> None:
    kelvin = (float(at) + 459.67) / 1.8
    psi = props("P", "T", kelvin, "Q", 1, "n-Propane") / 6894.757293168
    assert abs(float(propane.vapor_pressure(at).value) - (psi - 14.696)) < 0.15


@given(at=FAHRENHEIT)
def test_liquid_density_of_propane(props: Props, at: Decimal) -> None:
    kelvin = (float(at) + 459.67) / 1.8
    dense = props("D", "T", kelvin, "Q", 0, "n-Propane")
    pounds = dense * 3.785411784e-3 / 0.45359237
    assert abs(float(propane.liquid_density(at).value) - pounds) < 0.002


@given(at=CELSIUS)
def test_vapor_pressure_of_water_by_both_libraries(props: Props, at: Decimal) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    ours = float(drains.vapor_pressure(at))
    steam = props("P", "T", float(at) + 273.15, "Q", 1, "Water") / 100
    assert ours == pytest.approx(steam, rel=0.0035)
    assert ours == pytest.approx(psychrolib.GetSatVapPres(float(at)) / 100, rel=0.0035)


@given(at=CELSIUS, humidity=HUMIDITY)
def test_pool_formula_by_the_latent_heat(
    props: Props, at: Decimal, humidity: int
) -> None:
    kelvin = float(at) + 273.15
    vapor, liquid = (props("H", "T", kelvin, "Q", q, "Water") for q in (1, 0))
    steam = props("P", "T", kelvin, "Q", 1, "Water")
    deficit = steam * (1 - humidity / 100) / 3386.39  # in. Hg
    pounds = 0.5 * 95 * deficit / ((vapor - liquid) / 2326)
    expected = pounds * 4.88242764 * 24
    got = float(drains.open_surface_rate(at, humidity).value)
    assert got == pytest.approx(expected, rel=0.005)
