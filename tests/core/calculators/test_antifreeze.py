"""Glycol against the handbook table."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.antifreeze import (
    CAUTIONS,
    amount,
    burst_point,
    concentrate_for,
    diluted,
    freeze_point,
    frost_risk,
    strength_for,
)
from tests.core.calculators.reference import rows

D = Decimal
TABLE = rows("propylene_glycol.csv")
HANDBOOK = [row for row in TABLE if row["freeze_F_handbook_by_volume"]]
BURST = [row for row in TABLE if row["burst_F_maker_guide_by_volume_memory"]]
COMPUTED = [
    row
    for row in TABLE
    if row["freeze_F_computed_by_mass_set1"] and int(row["glycol_percent"]) <= 50
]


@pytest.mark.parametrize(
    "row",
    HANDBOOK,
    ids=lambda row: f"{row['glycol_percent']} % - handbook table 5.13",
)
def test_freeze_point_gives_the_handbook(row: dict[str, str]) -> None:
    got = freeze_point(D(row["glycol_percent"])).value
    assert got == D(row["freeze_F_handbook_by_volume"])
    celsius = D(row["freeze_C_handbook_by_volume"])
    assert abs((got - 32) / D("1.8") - celsius) <= D("0.06")


@pytest.mark.parametrize(
    "row", COMPUTED, ids=lambda row: f"{row['glycol_percent']} % - CoolProp by mass"
)
def test_freeze_point_is_near_the_computed_one(row: dict[str, str]) -> None:
    # mass and volume differ by under a point in strength: up to 2.5 °F here
    got = freeze_point(D(row["glycol_percent"])).value
    for column in ("set1", "set2"):
        if printed := row[f"freeze_F_computed_by_mass_{column}"]:
            assert abs(got - D(printed)) <= D("2.5")


@pytest.mark.parametrize(
    "row", BURST, ids=lambda row: f"{row['glycol_percent']} % - maker's guide, memory"
)
def test_burst_point_gives_the_guide(row: dict[str, str]) -> None:
    got = burst_point(D(row["glycol_percent"])).value
    assert got == D(row["burst_F_maker_guide_by_volume_memory"])


def test_a_fluid_of_minus_fifty_shows_crystals_near_ten_degrees() -> None:
    # dealer page; fits about 30 % glycol
    assert abs(freeze_point(30).value - 10) <= 2


def test_amount_of_an_owner_with_two_traps() -> None:
    # 2 to 3 gal and a cup each: common practice
    got = amount(heater=6, bypassed=True, traps=2)
    assert (got.least.value, got.most.value) == (D("2.125"), D("3.125"))


def test_ethylene_glycol_is_warned_of() -> None:
    assert any("Ethylene glycol" in told and "poison" in told for told in CAUTIONS)
    assert amount(heater=6, bypassed=True, traps=2).least.cautions == CAUTIONS


@pytest.mark.parametrize(
    ("lowest", "freezes", "hours"),
    [("33", False, False), ("32", False, False), ("31.9", True, False),
     ("20", True, True), ("-10", True, True)],
)  # fmt: skip
def test_frost_risk(lowest: str, freezes: bool, hours: bool) -> None:
    # common practice: below 32 °F; exposed lines near 20 °F within hours
    risk = frost_risk(D(lowest))
    assert (risk.freezes, risk.exposed_in_hours) == (freezes, hours)


PERCENT = st.decimals("0", "49.9", places=1)
GALLONS = st.decimals("0.1", "50", places=1)


@given(PERCENT)
def test_stronger_never_freezes_sooner(percent: Decimal) -> None:
    assert freeze_point(percent + D("0.1")).value < freeze_point(percent).value


@given(st.decimals("-28", "32", places=1))
def test_the_strength_for_a_temperature_freezes_there(lowest: Decimal) -> None:
    percent = strength_for(lowest).value
    assert abs(freeze_point(percent).value - lowest) < D("1e-15")


@given(volume=GALLONS, strength=st.integers(1, 100), water=GALLONS, more=GALLONS)
def test_more_leftover_water_never_leaves_it_stronger(
    volume: Decimal, strength: int, water: Decimal, more: Decimal
) -> None:
    once = diluted(volume, strength=strength, water=water).value
    twice = diluted(volume, strength=strength, water=water + more).value
    assert 0 < twice < once < strength


@given(total=GALLONS, strength=st.integers(0, 60))
def test_concentrate_mixed_with_water_has_the_strength(
    total: Decimal, strength: int
) -> None:
    fluid = concentrate_for(total, strength=strength, concentrate=60).value
    mixed = diluted(fluid, strength=60, water=total - fluid)
    assert abs(mixed.value - strength) < D("1e-15")


def test_a_mix_stronger_than_its_fluid_is_refused() -> None:
    with pytest.raises(CalculatorError, match="at most that of the fluid"):
        concentrate_for(5, strength=50, concentrate=30)


def test_nothing_in_nothing_is_refused() -> None:
    with pytest.raises(CalculatorError, match="more than 0 gal"):
        diluted(0, strength=30, water=0)


@pytest.mark.parametrize("percent", ["-1", "51", "NaN"])
def test_a_strength_that_cannot_be_is_refused(percent: str) -> None:
    with pytest.raises(CalculatorError, match="Enter 0 to 50 %"):
        freeze_point(D(percent))
