"""Tire pressure against published and independent figures."""

from decimal import Decimal

import psychrolib
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import Answer, CalculatorError
from maintenance.core.calculators.pressure import (
    atmosphere,
    change_per_ten_degrees,
    load_at_pressure,
    pressure_at,
    under_inflation,
    warning_level,
    where_the_rule_holds,
)
from maintenance.core.units import convert
from tests.core.calculators.reference import rows

D = Decimal
ROWS = rows("pressure_temperature_check.csv")


@pytest.mark.parametrize(
    "row",
    ROWS,
    ids=[f"{r['gauge_pressure_1']} {r['pressure_unit']} {r['comment']}" for r in ROWS],
)
def test_pressure_at_gives_the_check_value(row: dict[str, str]) -> None:
    high = row["atmospheric_pressure"] == "12.1"  # one mile above sea level
    got = pressure_at(
        D(row["gauge_pressure_1"]),
        row["pressure_unit"],
        measured_at=D(row["temp_1"]),
        expected_at=D(row["temp_2"]),
        degrees=row["temp_unit"],
        altitude_ft=5280 if high else 0,
    )
    within = D(row["tolerance_abs"])
    assert abs(got.value - D(row["expected_gauge_pressure_2"])) <= within


def test_pressure_at_of_35_psi_warmed_by_20_degrees() -> None:
    # computed; one page says "close to 38", which is wrong
    got = pressure_at(35, "psi", measured_at=70, expected_at=90)
    assert abs(got.value - D("36.88")) <= D("0.01")


# Computed from the gas law at 68 °F and sea level.
@pytest.mark.parametrize(("gauge", "step"), [("80", "1.79"), ("110", "2.36")])
def test_change_per_ten_degrees_is_twice_the_rule_for_a_rig(
    gauge: str, step: str
) -> None:
    got = change_per_ten_degrees(D(gauge), "psi", at=68)
    assert abs(got.value - D(step)) <= D("0.005")


def test_one_psi_per_ten_degrees_holds_only_for_a_car() -> None:
    gauge = where_the_rule_holds(68).value
    assert abs(gauge - D("38.07")) <= D("0.005")  # computed
    assert abs(change_per_ten_degrees(gauge, "psi", at=68).value - 1) < D("1e-20")


# FMVSS 138 S4.2(a): 75 % of the maker's cold pressure.
@pytest.mark.parametrize(
    ("placard", "level"), [("35", "26.25"), ("65", "48.75"), ("80", "60.0")]
)
def test_warning_level_is_25_percent_below(placard: str, level: str) -> None:
    got = warning_level(D(placard), "psi")
    assert abs(got.value - D(level)) <= D("0.005")
    assert any("do not drive" in caution for caution in got.cautions)


def test_under_inflation_at_the_warning_level_is_25_percent() -> None:
    assert under_inflation(60, 80, "psi").value == 25
    assert under_inflation(80, 80, "psi").value == 0


@pytest.mark.parametrize("feet", [-1000, 0, 1000, 5280, 8000, 12000])
def test_atmosphere_agrees_with_psychrolib(feet: int) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetStandardAtmPressure(feet * 0.3048) / 1000
    assert float(atmosphere(feet)) == pytest.approx(expected, rel=1e-4)


MAKER = [(80, 2910), (65, 2470), (70, 2600), (75, 2755)]  # invented figures


@pytest.mark.parametrize(
    ("cold", "load"), [("65", 2470), ("72", 2600), ("79.9", 2755), ("95", 2910)]
)
def test_load_at_pressure_takes_the_row_at_or_under_it(cold: str, load: int) -> None:
    assert load_at_pressure(D(cold), MAKER).value == load


def test_load_at_pressure_below_the_table_is_refused() -> None:
    with pytest.raises(CalculatorError, match="Enter 65 psi and more"):
        load_at_pressure(60, MAKER)


@pytest.mark.parametrize("rows_", [[], [(65, 2500), (70, 2400)]])
def test_load_at_pressure_asks_for_a_rising_table(rows_: list[tuple[int, int]]) -> None:
    with pytest.raises(CalculatorError, match="grows with pressure"):
        load_at_pressure(70, rows_)


def test_the_formula_is_filled_in_with_the_units_that_were_given() -> None:
    usual = pressure_at(80, "psi", measured_at=70, expected_at=30)
    assert usual.formula == ("(80 + 14.7) · 489.67 °R ÷ 529.67 °R - 14.7 = 72.85 psi")
    metric = pressure_at(450, "kPa", measured_at=20, expected_at=40, degrees="°C")
    assert metric.formula == (
        "(450 + 101.33) · 313.15 K ÷ 293.15 K - 101.33 = 487.61 kPa"
    )


PSI = st.decimals("10", "150", places=1)
WARM = st.decimals("-40", "150", places=1)
FEET = st.integers(-1000, 14000)


@given(gauge=PSI, start=WARM, end=WARM, feet=FEET)
@example(gauge=D("147.8"), start=D(0), end=D("147.7"), feet=0)  # above 200 psi
def test_pressure_comes_back_when_the_temperature_does(
    gauge: Decimal, start: Decimal, end: Decimal, feet: int
) -> None:
    """But where it would be no plausible reading of a gauge: 1 to 200 psi."""
    there = pressure_at(
        gauge, "psi", measured_at=start, expected_at=end, altitude_ft=feet
    )

    def back(value: Decimal) -> Answer:
        return pressure_at(
            value, "psi", measured_at=end, expected_at=start, altitude_ft=feet
        )

    if not 1 <= there.value <= 200:
        with pytest.raises(CalculatorError, match="can't be right"):
            back(there.value)
        return
    assert abs(back(there.value).value - gauge) < D("1e-15")


@given(gauge=PSI, start=WARM, cold=WARM, more=st.integers(1, 50))
def test_warmer_always_presses_harder(
    gauge: Decimal, start: Decimal, cold: Decimal, more: int
) -> None:
    at_cold, at_warm = (
        pressure_at(gauge, "psi", measured_at=start, expected_at=t).value
        for t in (cold, cold + more)
    )
    assert at_warm > at_cold


@given(gauge=PSI, start=WARM, end=WARM)
def test_pressure_is_the_same_in_kilopascals_and_celsius(
    gauge: Decimal, start: Decimal, end: Decimal
) -> None:
    usual = pressure_at(gauge, "psi", measured_at=start, expected_at=end)
    metric = pressure_at(
        convert(gauge, "psi", "kPa"),
        "kPa",
        measured_at=convert(start, "°F", "°C"),
        expected_at=convert(end, "°F", "°C"),
        degrees="°C",
    )
    assert abs(convert(metric.value, "kPa", "psi") - usual.value) < D("1e-15")


@pytest.mark.parametrize(
    ("gauge", "warm", "message"),
    [
        ("0", "70", "The pressure: 0 psi can't be right. Enter 1 to 200 psi"),
        ("NaN", "70", "The pressure: NaN psi"),
        ("80", "300", "The temperature: 300 °F can't be right"),
    ],
)
def test_pressure_that_cannot_be_is_refused(
    gauge: str, warm: str, message: str
) -> None:
    with pytest.raises(CalculatorError, match=message):
        pressure_at(D(gauge), "psi", measured_at=D(warm), expected_at=60)


def test_a_temperature_below_absolute_zero_is_refused() -> None:
    with pytest.raises(CalculatorError, match="below absolute zero"):
        pressure_at(80, "psi", measured_at=-300, expected_at=20, degrees="°C")
