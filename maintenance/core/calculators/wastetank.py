"""Waste tanks: volume by shape, the level to dump at, what to clean with.

Lengths in inches, volumes in US gallons.
"""

from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.answers import Answer, Figure, limits, num

CUBIC_INCHES = Decimal(231)  # in a US gallon, by definition
_LENGTH = limits("The length", "1", "300", "in")
_WIDE = limits("The diameter", "1", "100", "in")
_TANK = limits("The tank", "1", "500", "gal")

CAUTIONS = (
    "Waste carries disease. Wear gloves, and wash your hands after. Keep the "
    "drinking-water hose away from the sewer hose.",
    "Spilled waste makes people sick. Dump only at an approved station: black first, "
    "then gray to rinse the hose.",
    "An overfilled tank bursts: while a flush runs, watch the level. Keep the black "
    "valve closed between dumps. Never close off a tank's vent.",
    "Bleach with another cleaner makes poisonous gas: never use them together. Use no "
    "formaldehyde or bronopol.",
)


def box_volume(length: Figure, width: Figure, height: Figure) -> Answer:
    """A box in gal from inches (1 to 300 each): l · w · h / 231."""
    a, b, c = (_LENGTH.check(side) for side in (length, width, height))
    value = a * b * c / CUBIC_INCHES
    told = f"{num(a)} · {num(b)} · {num(c)} ÷ 231 = {num(value)} gal"
    return Answer(value, "gal", told, "231 in.³ to the US gallon, by definition.")


def cylinder_volume(diameter: Figure, length: Figure) -> Answer:
    """A cylinder in gal from inches: π · d² / 4 · l / 231."""
    wide, long = _WIDE.check(diameter), _LENGTH.check(length)
    value = Decimal("3.14159265358979") * wide**2 / 4 * long / CUBIC_INCHES
    told = f"π · {num(wide)}² ÷ 4 · {num(long)} ÷ 231 = {num(value)} gal"
    return Answer(value, "gal", told, "231 in.³ to the US gallon, by definition.")


def dump_level(tank: Figure) -> Answer:
    """The gallons at which to dump: two thirds, so that the flow carries solids."""
    volume = _TANK.check(tank)
    value = volume * 2 / 3
    told = f"2 ÷ 3 · {num(volume)} gal = {num(value, 1)} gal"
    source = "Three RV pages (a fourth says half full)."
    return Answer(value, "gal", told, source, cautions=CAUTIONS)


@dataclass(frozen=True, slots=True)
class Span:
    """From least to most, in the one unit."""

    least: Decimal
    most: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class CleaningAmounts:
    """What the ice drive and the start charge ask for."""

    fill: Span  # gal: two thirds to three quarters
    ice: Span  # lb: one bag
    start_water: Span  # gal of water after dumping
    softener: str = "powdered water softener by its label"
    source: str = (
        "Ice and softener: common practice, results disputed. Start charge of 1 to 2 "
        "gal (one owner manual: at least 2): RV pages."
    )
    cautions: tuple[str, ...] = CAUTIONS


def cleaning_amounts(tank: Figure) -> CleaningAmounts:
    """Amounts to clean the probes of a tank of 1 to 500 gal by the ice drive."""
    volume = _TANK.check(tank)
    return CleaningAmounts(
        fill=Span(volume * 2 / 3, volume * 3 / 4, "gal"),
        ice=Span(Decimal("2.5"), Decimal(5), "lb"),
        start_water=Span(min(Decimal(1), volume), min(Decimal(2), volume), "gal"),
    )
