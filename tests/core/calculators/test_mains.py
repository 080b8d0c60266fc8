"""Amps, watts and volts of the mains."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.mains import (
    SERVICES,
    Band,
    amps,
    inverter_amps,
    judge_voltage,
    load_on,
    starting_watts,
    watts,
)

D = Decimal


# ANSI C84.1 range A: 114 to 126 V; equipment 108 to 132 V (common practice)
@pytest.mark.parametrize(
    ("volts", "service", "equipment"),
    [
        ("107.9", "low", "low"),
        ("108", "low", "ok"),
        ("114", "ok", "ok"),
        ("126", "ok", "ok"),
        ("126.1", "high", "ok"),
        ("132.1", "high", "high"),
    ],
)
def test_a_voltage_is_judged_by_both_bands(
    volts: str, service: Band, equipment: Band
) -> None:
    got = judge_voltage(D(volts))
    assert (got.service, got.equipment) == (service, equipment)
    assert any("Unplug, and use" in told for told in got.cautions) is (
        equipment != "ok"
    )


# P = V · I; NEC continuous-load rule: 80 % of 3,600 W is 2,880 W
@pytest.mark.parametrize(
    ("running", "fits", "for_hours"),
    [
        ([1500, 1300], True, True),
        ([1500, 1500], True, False),
        ([1500] * 3, False, False),
    ],
)
def test_loads_on_30_amps(running: list[int], fits: bool, for_hours: bool) -> None:
    got = load_on(SERVICES["30"], running)
    assert (got.fits, got.fits_for_hours) == (fits, for_hours)


def test_each_leg_of_50_amps_bears_half() -> None:
    assert load_on(SERVICES["50"], [6000]).fits
    assert not load_on(SERVICES["50"], [6001]).fits


def test_a_motor_starts_with_three_times_its_power() -> None:
    assert starting_watts(1500).value == 4500  # motorhome owner manual


@given(st.decimals("1", "10000", places=1), st.decimals("90", "140", places=1))
def test_watts_and_amps_are_each_others_inverse(power: Decimal, volts: Decimal) -> None:
    assert abs(watts(volts, amps(power, volts).value).value - power) < D("1e-15")


@given(st.integers(1, 5000), st.decimals("0.3", "0.99", places=2))
def test_a_better_inverter_never_draws_more(power: int, efficiency: Decimal) -> None:
    worse = inverter_amps(power, efficiency=efficiency).value
    better = inverter_amps(power, efficiency=efficiency + D("0.01")).value
    assert better < worse


@pytest.mark.parametrize("volts", ["0", "-120", "NaN", "480"])
def test_volts_that_cannot_be_are_refused(volts: str) -> None:
    with pytest.raises(CalculatorError, match="Enter 1 to 300 V"):
        amps(1500, D(volts))
