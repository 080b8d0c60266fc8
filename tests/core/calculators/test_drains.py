"""Traps against the published rows and psychrolib."""

from decimal import Decimal

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.drains import (
    CAUTIONS,
    QUIET,
    days_for,
    dew_point,
    dry_out,
    humidity_ratio_rate,
    open_surface_rate,
    open_water_rate,
    still_pipe_rate,
    vapor_pressure,
    vapor_pressure_wmo,
)
from tests.core.calculators.reference import rows

D = Decimal


@pytest.mark.parametrize(
    "row",
    rows("water_vapor_pressure.csv"),
    ids=lambda row: f"{row['temp_C']} C - CoolProp, IAPWS-97, psychrolib",
)
def test_vapor_pressure_gives_the_table(row: dict[str, str]) -> None:
    at = D(row["temp_C"])
    assert abs(vapor_pressure_wmo(at) - D(row["es_hPa_magnus_wmo"])) <= D("0.0006")
    ours = vapor_pressure(at)
    assert abs(ours - D(row["es_hPa_alduchov_eskridge"])) <= D("0.0006")
    for other in ("coolprop", "iapws97", "psychrolib"):
        expected = D(row[f"es_hPa_{other}"])
        assert abs(ours - expected) <= expected * D("0.0035")


# column, our function of (°C, %), tolerance: two digits are printed, and the tables
# rest on psychrolib's pressures, ours on the Magnus form (within 0.35 %)
COLUMNS = {
    "mm_day_ashrae_pool_full": lambda t, h: open_surface_rate(t, h, factor=1),
    "mm_day_ashrae_x0.74_quiet_measured": lambda t, h: open_surface_rate(
        t, h, factor=QUIET
    ),
    "mm_day_ashrae_x0.5_unoccupied": open_surface_rate,
    "mm_day_humidity_ratio_formula_25": humidity_ratio_rate,
    "mm_day_open_water_dalton_no_wind": open_water_rate,
    "mm_day_stagnant_50mm_pipe": lambda t, h: still_pipe_rate(t, h, pipe=50),
    "mm_day_stagnant_100mm_pipe": still_pipe_rate,
    "mm_day_stagnant_200mm_pipe": lambda t, h: still_pipe_rate(t, h, pipe=200),
    "days_51mm_open_x0.5": lambda t, h: dry_out(t, h).earliest,
    "days_51mm_stagnant_100mm": lambda t, h: dry_out(t, h).latest,
}


@pytest.mark.parametrize("column", COLUMNS)
@pytest.mark.parametrize(
    "row",
    rows("trap_evaporation.csv"),
    ids=lambda row: f"{row['temp_C']} C {row['relative_humidity']}",
)
def test_evaporation_gives_the_computed_table(row: dict[str, str], column: str) -> None:
    printed = D(row[column])
    humidity = D(row["relative_humidity"]) * 100
    got = COLUMNS[column](D(row["temp_C"]), humidity).value
    assert abs(got - printed) <= printed * D("0.02") + D("0.0006")


CELSIUS = st.decimals("1", "50", places=1)
HUMIDITY = st.integers(5, 95)


@given(CELSIUS, st.integers(20, 100))
def test_dew_point_agrees_with_psychrolib(at: Decimal, humidity: int) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetTDewPointFromRelHum(float(at), humidity / 100)
    if expected < 0:  # over ice the two differ
        return
    assert float(dew_point(at, humidity).value) == pytest.approx(expected, abs=0.1)


def test_a_mild_climate_lies_between_21_and_196_days() -> None:
    # judgment of the house reference: 2.5 and 0.26 mm a day at 25 °C, 50 %
    got = dry_out(25, 50)
    assert (int(got.earliest.value), round(got.latest.value)) == (20, 197)
    assert got.flush_every == 20


# hot and dry: a week at worst; cold and damp: the monthly rule (Princeton notice, 2019)
@pytest.mark.parametrize(
    ("celsius", "humidity", "days"), [(35, 20, 7), (10, 70, 30), (50, 0, 2)]
)
def test_flush_every_is_monthly_or_sooner(
    celsius: int, humidity: int, days: int
) -> None:
    assert dry_out(celsius, humidity).flush_every == days


def test_both_models_are_named_and_vents_stay_open() -> None:
    got = dry_out(25, 50)
    assert got.upper.source.startswith("Upper model")
    assert got.lower.source.startswith("Lower model")
    assert any("Never cap or block a plumbing vent" in told for told in CAUTIONS)


def test_both_legs_sinking_together_doubles_the_time() -> None:
    one, two = (days_for(51, 1, both_legs=both).value for both in (False, True))
    assert two == 2 * one


@given(celsius=st.integers(0, 49), humidity=st.integers(0, 99))
def test_colder_never_evaporates_faster(celsius: int, humidity: int) -> None:
    for rate in (open_surface_rate, still_pipe_rate, open_water_rate):
        cold, warm = (rate(t, humidity).value for t in (celsius, celsius + 1))
        assert 0 < cold < warm


@given(celsius=st.integers(0, 50), humidity=st.integers(0, 98))
def test_damper_never_evaporates_faster(celsius: int, humidity: int) -> None:
    dry, damp = (dry_out(celsius, h).earliest.value for h in (humidity, humidity + 1))
    assert dry < damp


@given(celsius=CELSIUS, humidity=HUMIDITY, pipe=st.integers(10, 2000))
def test_earliest_is_never_after_latest(
    celsius: Decimal, humidity: int, pipe: int
) -> None:
    got = dry_out(celsius, humidity, pipe=pipe)
    assert 0 < got.earliest.value <= got.latest.value


@pytest.mark.parametrize(
    ("celsius", "humidity", "message"),
    [
        ("-1", "50", "The temperature: -1 °C .* 0 to 50 °C"),
        ("25", "100", "The relative humidity: 100 % .* 0 to 99 %"),
        ("NaN", "50", "The temperature"),
    ],
)
def test_a_climate_that_cannot_be_is_refused(
    celsius: str, humidity: str, message: str
) -> None:
    with pytest.raises(CalculatorError, match=message):
        dry_out(D(celsius), D(humidity))
