"""Propane against the published tables."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.propane import (
    GAS_CAUTIONS,
    Appliance,
    fill_by_volume,
    fill_by_weight,
    heat_of_pounds,
    hours_left,
    liquid_density,
    vapor_pressure,
)
from tests.core.calculators.reference import rows

D = Decimal
TABLE = rows("propane_vapor_pressure.csv")
IDS = [f"{row['temp_F']} F, computed with CoolProp" for row in TABLE]


@pytest.mark.parametrize("row", TABLE, ids=IDS)
def test_vapor_pressure_and_density_give_the_table(row: dict[str, str]) -> None:
    at = D(row["temp_F"])
    assert abs(vapor_pressure(at).value - D(row["psig_pure_computed"])) <= D("0.05")
    expected = D(row["liquid_lb_per_US_gal_computed"])
    assert abs(liquid_density(at).value - expected) <= D("0.0005")


@pytest.mark.parametrize(
    "row",
    [row for row in TABLE if row["psig_published_pure_chart"]],
    ids=lambda row: f"{row['temp_F']} F, published chart of pure propane",
)
def test_vapor_pressure_is_near_the_published_chart(row: dict[str, str]) -> None:
    chart = D(row["psig_published_pure_chart"])
    got = vapor_pressure(D(row["temp_F"])).value
    assert abs(got - chart) <= max(D(3), chart * D("0.03"))


@pytest.mark.parametrize(
    "row",
    [row for row in TABLE if row["psig_published_supplier_table"]],
    ids=lambda row: f"{row['temp_F']} F, published supplier table",
)
def test_vapor_pressure_is_near_the_supplier_table(row: dict[str, str]) -> None:
    printed = D(row["psig_published_supplier_table"])
    assert abs(vapor_pressure(D(row["temp_F"])).value - printed) <= 3


@pytest.mark.parametrize(
    "row",
    [row for row in TABLE if row["psig_published_commercial_propane"]],
    ids=lambda row: f"{row['temp_F']} F, published commercial propane",
)
def test_commercial_propane_presses_harder_than_pure(row: dict[str, str]) -> None:
    commercial = D(row["psig_published_commercial_propane"])
    assert vapor_pressure(D(row["temp_F"])).value < commercial


def test_fill_by_weight_is_a_little_more_than_80_percent_by_volume() -> None:
    # computed with CoolProp: 0.42 / 0.507 = 82.8 % at 60 °F
    by_weight = fill_by_weight(100).value / liquid_density(60).value
    water = D(100) / (D("999.1") * D("3.785411784") / D("453.59237"))
    assert abs(by_weight / water - D("0.828")) <= D("0.002")


RATE = st.integers(100, 100_000)
DUTY = st.decimals("0.01", "1", places=2)


@given(pounds=st.integers(1, 200), rate=RATE, more=RATE, duty=DUTY)
def test_another_appliance_never_makes_it_last_longer(
    pounds: int, rate: int, more: int, duty: Decimal
) -> None:
    heat = heat_of_pounds(pounds)
    one = Appliance("furnace", D(rate), duty)
    two = [one, Appliance("refrigerator", D(more), duty)]
    assert 0 < hours_left(heat, two).value < hours_left(heat, [one]).value


@given(cold=st.decimals("-44", "129", places=1), more=st.decimals("0.1", "1", places=1))
def test_colder_propane_never_presses_harder(cold: Decimal, more: Decimal) -> None:
    assert vapor_pressure(cold).value < vapor_pressure(cold + more).value


def test_every_result_carries_the_gas_cautions() -> None:
    heat = heat_of_pounds(20)
    told = (
        hours_left(heat, [Appliance("stove", D(7000))]),
        fill_by_weight(D("47.6")),
        fill_by_volume(10),
        vapor_pressure(70),
    )
    assert all(set(GAS_CAUTIONS) <= set(answer.cautions) for answer in told)


def test_hours_left_without_an_appliance_is_refused() -> None:
    with pytest.raises(CalculatorError, match="at least one gas appliance"):
        hours_left(heat_of_pounds(20), [])


@pytest.mark.parametrize("duty", ["0", "1.1", "NaN"])
def test_hours_left_with_an_impossible_duty_is_refused(duty: str) -> None:
    with pytest.raises(CalculatorError, match="The duty"):
        hours_left(heat_of_pounds(20), [Appliance("furnace", D(30000), D(duty))])


def test_vapor_pressure_of_300_degrees_is_refused() -> None:
    with pytest.raises(CalculatorError, match="Enter -44 to 130 °F"):
        vapor_pressure(300)
