"""Hardness of water, and how often it asks for the aerators. In mg/L as CaCO3."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from maintenance.core.calculators.answers import Answer, Figure, limits, num

HardnessClass = Literal["soft", "moderately_hard", "hard", "very_hard"]

GRAIN = Decimal("64.79891") / Decimal("3.785411784")  # mg/L in a grain per gallon
SCALE_FROM = Decimal(120)  # mg/L: scale noticeable in heaters, a reference page
_HARDNESS = limits("The hardness", "0", "2000", "mg/L")
_GRAINS = limits("The hardness", "0", "110", "grains per gallon")
_CLASSES: tuple[tuple[Decimal, HardnessClass], ...] = (
    (Decimal(60), "soft"),
    (Decimal(120), "moderately_hard"),
    (Decimal(180), "hard"),
)


@dataclass(frozen=True, slots=True)
class Hardness:
    """`aerator_days`: how often to clean aerators and shower head."""

    value: Decimal  # mg/L
    name: HardnessClass
    aerator_days: int
    source: str = (
        "Classes of the USGS: to 60, 120 and 180 mg/L. Aerators yearly, six-monthly "
        "with hard water: common practice."
    )
    validity: str = "A trade association's classes begin at 17.1 mg/L already."
    cautions: tuple[str, ...] = (
        "Vinegar with bleach or another cleaner makes poisonous gas. Use white vinegar "
        "alone.",
    )


def hardness(value: Figure) -> Hardness:
    """Class and aerator interval for 0 to 2,000 mg/L as CaCO3."""
    given = _HARDNESS.check(value)
    found: HardnessClass = "very_hard"
    for top, name in reversed(_CLASSES):
        found = name if given <= top else found
    return Hardness(given, found, 365 if given <= SCALE_FROM else 182)


def from_grains(grains: Figure) -> Answer:
    """mg/L as CaCO3 from 0 to 110 grains per US gallon (17.118 each)."""
    given = _GRAINS.check(grains)
    value = given * GRAIN
    told = f"{num(given)} · 17.118 = {num(value, 1)} mg/L"
    return Answer(
        value, "mg/L", told, "64.79891 mg to the grain, 3.785412 L to the gal."
    )
