"""Charge, gravity and freezing against the published tables."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.batteries import (
    CAUTIONS,
    charge_from_gravity,
    charge_from_volts,
    charge_that_freezes,
    corrected_gravity,
    freezing_from_charge,
    freezing_from_gravity,
    hours_at_load,
    volts_at,
)
from tests.core.calculators.reference import rows

D = Decimal
STATES = rows("lead_acid_soc.csv")


@pytest.mark.parametrize(
    "row", STATES, ids=lambda row: f"{row['soc_percent']} %, BCI table and its parts"
)
def test_a_state_of_charge_by_every_column(row: dict[str, str]) -> None:
    percent = D(row["soc_percent"])
    flooded, agm = D(row["flooded_rest_volts"]), D(row["agm_rest_volts_default"])
    assert charge_from_volts(flooded, "flooded").value == percent
    assert charge_from_volts(agm, "agm").value == percent
    assert volts_at(percent, "flooded") == flooded
    assert charge_from_gravity(D(row["specific_gravity_80F"])).value == percent
    freezes = D(row["freeze_F_from_specific_gravity"])
    assert abs(freezing_from_charge(percent).value - freezes) <= D("0.5")


@pytest.mark.parametrize(
    "row", STATES, ids=lambda row: f"{row['soc_percent']} %, span of the sources"
)
def test_a_default_voltage_lies_within_the_span_of_sources(row: dict[str, str]) -> None:
    low, high = (
        D(row[f"flooded_rest_volts_{end}_estimate_source"]) for end in ("low", "high")
    )
    assert low <= D(row["flooded_rest_volts"]) <= high


@pytest.mark.parametrize(
    "row", STATES[1:], ids=lambda row: f"{row['soc_percent']} %, often reprinted"
)
def test_the_hopeful_freezing_table_is_not_used(row: dict[str, str]) -> None:
    hopeful = D(row["freeze_F_table_often_reprinted"])
    assert freezing_from_charge(D(row["soc_percent"])).value > hopeful + 10


@pytest.mark.parametrize(
    "row",
    rows("battery_temperature_correction.csv"),
    ids=lambda row: f"{row['electrolyte_F']} F, battery supplier table",
)
def test_a_hydrometer_reading_is_corrected(row: dict[str, str]) -> None:
    got = corrected_gravity(D("1.250"), D(row["electrolyte_F"]))
    assert got.value - D("1.250") == D(row["add_to_hydrometer_reading"])
    # the voltage column is only six times the other: it is not applied to voltmeters
    six = 6 * D(row["add_to_hydrometer_reading"])
    assert D(row["add_to_12V_meter_reading_as_reprinted"]) == six


@pytest.mark.parametrize(
    "row",
    rows("electrolyte_freeze.csv"),
    ids=lambda row: f"{row['specific_gravity']}, off-road vehicle owner manual",
)
def test_electrolyte_freezes_as_printed(row: dict[str, str]) -> None:
    gravity, freezes = D(row["specific_gravity"]), D(row["freeze_F"])
    assert freezing_from_gravity(gravity).value == freezes
    assert abs((freezes - 32) / D("1.8") - D(row["freeze_C"])) <= D("0.05")


# A battery charger manual: full -65 °C, half -26 °C, quarter -15 °C
@pytest.mark.parametrize(("charge", "celsius"), [(100, -65), (50, -26), (25, -15)])
def test_freezing_agrees_with_a_charger_manual(charge: int, celsius: int) -> None:
    got = (freezing_from_charge(charge).value - 32) / D("1.8")
    assert abs(got - celsius) <= 6


def test_lithium_volts_are_refused() -> None:
    with pytest.raises(CalculatorError, match="Read its monitor"):
        charge_from_volts(13, "lifepo4")


@pytest.mark.parametrize("volts", ["0", "5.9", "24", "NaN", "-Infinity"])
def test_volts_that_cannot_be_are_refused(volts: str) -> None:
    with pytest.raises(CalculatorError, match="Enter 6 to 16 V"):
        charge_from_volts(D(volts), "flooded")


def test_cautions_name_the_hazard_of_each_kind() -> None:
    assert any("hydrogen" in caution for caution in CAUTIONS["flooded"])
    assert any("frozen" in caution for caution in CAUTIONS["agm"])
    assert any("below freezing" in caution for caution in CAUTIONS["lifepo4"])


def test_below_the_rating_peukert_promises_no_more_than_the_rating() -> None:
    # 2 A from 100 Ah: the bare formula would give 60 h, 120 Ah
    assert hours_at_load(100, 2, exponent=D("1.2")).value == 50


PERCENT = st.decimals("0", "100", places=1)
AMPS = st.decimals("0.05", "200", places=2)


@given(volts=st.decimals("6", "15.9", places=2), more=st.decimals("0", "0.1", places=2))
def test_more_volts_never_mean_less_charge(volts: Decimal, more: Decimal) -> None:
    for kind in ("flooded", "agm"):
        low = charge_from_volts(volts, kind).value
        assert 0 <= low <= charge_from_volts(volts + more, kind).value <= 100


@given(PERCENT)
def test_volts_and_charge_are_each_others_inverse(percent: Decimal) -> None:
    for kind in ("flooded", "agm"):
        back = charge_from_volts(volts_at(percent, kind), kind).value
        assert abs(back - percent) < D("1e-15")


@given(PERCENT)
def test_a_battery_freezes_at_its_freezing_point(percent: Decimal) -> None:
    at = freezing_from_charge(percent).value
    assert abs(charge_that_freezes(at) - percent) < D("1e-15")


@given(AMPS, AMPS, st.decimals("1", "1.5", places=2))
def test_more_load_never_lasts_longer(
    load: Decimal, more: Decimal, exponent: Decimal
) -> None:
    light = hours_at_load(100, load, exponent=exponent).value
    heavy = hours_at_load(100, load + more, exponent=exponent).value
    assert 0 < heavy < light
    assert heavy * (load + more) <= light * load * D("1.0000000001")
