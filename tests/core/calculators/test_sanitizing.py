"""Bleach dose and rinses against the published table and pint."""

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators.answers import CalculatorError
from maintenance.core.calculators.sanitizing import (
    CAUTIONS,
    STAND_TIMES,
    bleach_dose,
    chlorine,
    chlorine_after,
    rinses_needed,
)
from maintenance.core.units import convert
from tests.core.calculators.reference import rows

D = Decimal
UNITS = pint.UnitRegistry()


@pytest.mark.parametrize(
    "row",
    rows("bleach_dose.csv"),
    ids=lambda row: "{tank_US_gal} gal {bleach_percent} % {target_ppm} ppm".format(
        **row
    ),
)
def test_bleach_dose_gives_the_table(row: dict[str, str]) -> None:
    # computed: C1·V1 = C2·V2
    got = bleach_dose(
        D(row["tank_US_gal"]),
        strength=D(row["bleach_percent"]),
        target=D(row["target_ppm"]),
    )
    assert abs(got.value - D(row["bleach_US_fl_oz"])) <= D("0.005001")
    assert abs(convert(got.value, "fl oz", "mL") - D(row["bleach_mL"])) <= D("0.05")


def test_bleach_dose_agrees_with_pint() -> None:
    tank = 47.5 * UNITS.US_liquid_gallon
    expected = (tank * 50e-6 / 0.06).to("US_fluid_ounce").magnitude
    got = bleach_dose(D("47.5"), strength=6, target=50).value
    assert float(got) == pytest.approx(expected, rel=1e-9)


def test_two_rinses_bring_50_ppm_under_the_ceiling_at_a_fifth_left() -> None:
    # 40 CFR 141.65 (from memory): 4.0 mg/L; 50, 10, 2
    got = rinses_needed(50, left=D("0.2"))
    assert got.value == 2
    assert chlorine_after(50, left=D("0.2"), rinses=2).value == 2


def test_on_the_ceiling_one_more_rinse_is_asked_for() -> None:
    assert rinses_needed(4, left=D("0.5")).value == 1
    assert rinses_needed(D("3.9"), left=D("0.5")).value == 0
    assert rinses_needed(50, left=0).value == 1


def test_times_to_stand_as_published() -> None:
    # RV owner instructions; IPC 610: 50 ppm for 24 h, 200 ppm for 3 to 6 h
    told = [(t.ppm, t.least, t.most) for t in STAND_TIMES]
    assert told == [(50, 4, None), (50, 24, None), (200, 3, 6)]


def test_bleach_is_never_mixed() -> None:
    got = bleach_dose(50, strength=6, target=50)
    assert got.cautions == CAUTIONS
    assert "Never mix bleach with ammonia" in CAUTIONS[0]


GALLONS = st.decimals("1", "300", places=1)
PERCENT = st.decimals("1", "15", places=2)


@given(tank=GALLONS, strength=PERCENT, target=st.integers(1, 400))
def test_a_dose_gives_its_target_back(
    tank: Decimal, strength: Decimal, target: int
) -> None:
    dose = bleach_dose(tank, strength=strength, target=target).value
    back = chlorine(dose, strength=strength, water=tank).value
    assert abs(back - target) < D("1e-15")


@given(start=st.integers(1, 1000), left=st.decimals("0", "0.9", places=2))
def test_rinses_needed_are_enough_and_not_one_too_many(
    start: int, left: Decimal
) -> None:
    count = int(rinses_needed(start, left=left).value)
    assert chlorine_after(start, left=left, rinses=count).value < 4
    if count:
        assert chlorine_after(start, left=left, rinses=count - 1).value >= 4


@pytest.mark.parametrize(
    ("tank", "strength", "target", "what"),
    [
        ("0", "6", "50", "The tank: 0 gal"),
        ("50", "0", "50", "The strength of the bleach: 0 %"),
        ("50", "6", "5000", "The chlorine aimed at: 5,000 ppm"),
        ("NaN", "6", "50", "The tank"),
    ],
)
def test_a_dose_that_cannot_be_is_refused(
    tank: str, strength: str, target: str, what: str
) -> None:
    with pytest.raises(CalculatorError, match=what):
        bleach_dose(D(tank), strength=D(strength), target=D(target))


def test_water_that_is_never_drained_is_refused() -> None:
    with pytest.raises(CalculatorError, match=r"0 to 0\.9"):
        rinses_needed(50, left=1)
