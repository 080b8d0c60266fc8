"""Antifreeze for drinking-water lines: strength, dilution, amounts.

Propylene glycol in percent by volume, volumes in US gallons, temperatures in °F.
"""

from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.answers import (
    Answer,
    CalculatorError,
    Figure,
    between,
    limits,
    num,
    table,
)

# percent by volume -> °F of the first crystals: chemistry handbook, 15th ed., table
# 5.13 (minus signs inferred from the scan)
FREEZING = table(
    "0 32, 5 30, 10 28, 15 25, 20 20, 25 16, 30 9, 35 3, 40 -5, 45 -16, 50 -28"
)
# percent by volume -> °F down to which pipes do not burst: a fluid maker's guide, from
# memory
BURST = table("12 20, 20 10, 24 0, 28 -10, 30 -20, 33 -30, 35 -60")

_STRENGTH = limits("The strength", "0", "50", "%")
WEAKEST, STRONGEST = Decimal(12), Decimal(50)  # what the tables know, in percent
_BURST_STRENGTH = limits("The strength", "12", "50", "%")
_FLUID = limits("The strength of the fluid", "0", "100", "%")
_GALLONS = limits("The volume", "0", "500", "gal")
_LOWEST = limits("The lowest temperature", "-28", "32", "°F")
_COLD = limits("The lowest temperature", "-60", "130", "°F")
WATER_FREEZES = 32
_TRAPS = limits("The number of traps", "0", "20")
LINES = (Decimal(2), Decimal(3))  # gal, heater bypassed: common practice
PER_TRAP = Decimal(1) / 16  # gal: about a cup, common practice

HANDBOOK = "Chemistry handbook, 15th ed., table 5.13 (minus signs inferred)."
CAUTIONS = (
    "Ethylene glycol (engine antifreeze) is poison: never put it in drinking-water "
    "lines, sinks or traps. Use only propylene glycol marked for drinking-water lines.",
    "Hot water under pressure scalds. Switch the heater off, let it cool and let the "
    "pressure out before you open its drain.",
)
THREE_POINTS = (
    "Crystals, slush and bursting come at three temperatures. A label of -50 means "
    "bursting: that fluid shows crystals near +10 °F."
)


def freeze_point(strength: Figure) -> Answer:
    """The °F of the first crystals for 0 to 50 % by volume."""
    percent = _STRENGTH.check(strength)
    value = between(FREEZING, percent)
    told = f"{num(percent, 1)} % freezes from about {num(value, 0)} °F"
    return Answer(value, "°F", told, HANDBOOK, THREE_POINTS, CAUTIONS)


def burst_point(strength: Figure) -> Answer:
    """The °F down to which a line with 12 to 50 % does not burst (from memory)."""
    percent = _BURST_STRENGTH.check(strength)
    value = between(BURST, percent)
    told = f"{num(percent, 1)} % protects from bursting to about {num(value, 0)} °F"
    source = "A heat-transfer fluid manufacturer's guide (from memory)."
    return Answer(value, "°F", told, source, THREE_POINTS, CAUTIONS)


def protects(strength: Figure, lowest: Figure) -> bool:
    """Whether a line filled with so many percent does not burst at `lowest` °F.

    Below 12 % nothing is known of it, so pipes are not protected; above 50 % the table
    holds its last value.
    """
    percent, cold = _FLUID.check(strength), _COLD.check(lowest)
    if percent < WEAKEST:
        return cold >= WATER_FREEZES
    return cold >= between(BURST, percent)


def strength_for(lowest: Figure) -> Answer:
    """The percent that shows no crystals down to `lowest` °F (-28 to 32)."""
    cold = _LOWEST.check(lowest)
    value = between(tuple(sorted((f, percent) for percent, f in FREEZING)), cold)
    told = f"no crystals down to {num(cold, 0)} °F: {num(value, 1)} %"
    return Answer(value, "%", told, HANDBOOK, THREE_POINTS, CAUTIONS)


def diluted(volume: Figure, *, strength: Figure, water: Figure) -> Answer:
    """Percent left of `volume` gal of fluid in `water` gal that stayed in the lines."""
    fluid, percent = _GALLONS.check(volume), _FLUID.check(strength)
    extra = _GALLONS.check(water)
    if not fluid + extra:
        raise CalculatorError("The volume", "0 gal", "more than 0 gal")
    value = fluid * percent / (fluid + extra)
    return Answer(
        value,
        "%",
        f"{num(fluid)} gal · {num(percent, 1)} % ÷ ({num(fluid)} + {num(extra)}) gal"
        f" = {num(value, 1)} %",
        "Dilution (C1·V1 = C2·V2).",
        "Weakened antifreeze lets pipes burst. Drain the lines or blow them out "
        "first: leftover water weakens the fluid.",
        CAUTIONS,
    )


def concentrate_for(total: Figure, *, strength: Figure, concentrate: Figure) -> Answer:
    """Gallons of a concentrate (percent) in `total` gallons of this strength."""
    volume, percent = _GALLONS.check(total), _FLUID.check(strength)
    strong = limits("The strength of the concentrate", "1", "100", "%").check(
        concentrate
    )
    if percent > strong:
        raise CalculatorError(
            "The strength",
            f"{num(percent)} %",
            f"at most that of the fluid, {strong} %",
        )
    value = volume * percent / strong
    told = f"{num(volume)} gal · {num(percent)} % ÷ {num(strong)} % = {num(value)} gal"
    return Answer(value, "gal", told, "Dilution (C1·V1 = C2·V2).", "", CAUTIONS)


@dataclass(frozen=True, slots=True)
class Amount:
    """Gallons to buy, least and most."""

    least: Answer
    most: Answer


def amount(
    *, heater: Figure, bypassed: bool, traps: int, lines: tuple[Figure, Figure] = LINES
) -> Amount:
    """Antifreeze in gal for the lines, a cup for each trap, the heater unless bypassed.

    `heater` in gal. 2 to 3 gal for the lines and a cup a trap are common practice.
    """
    cups = _TRAPS.check(traps) * PER_TRAP
    tank = _GALLONS.check(heater)
    extra = Decimal(0) if bypassed else tank
    least, most = (_amount(_GALLONS.check(gal), cups, extra) for gal in lines)
    return Amount(least, most)


def _amount(lines: Decimal, traps: Decimal, heater: Decimal) -> Answer:
    value = lines + traps + heater
    return Answer(
        value,
        "gal",
        f"{num(lines)} gal lines + {num(traps, 3)} gal traps + {num(heater)} gal heater"
        f" = {num(value, 3)} gal",
        "RV pages; lines and traps by common practice.",
        "A bypassed heater is drained and takes none.",
        CAUTIONS,
    )


@dataclass(frozen=True, slots=True)
class FrostRisk:
    """Whether standing water may freeze; temperatures in °F."""

    lowest: Decimal
    freezes: bool
    exposed_in_hours: bool  # near 20 °F lines outside can freeze within hours
    source: str = "Common practice: act before air stays below 32 °F."
    cautions: tuple[str, ...] = CAUTIONS


def frost_risk(lowest: Figure) -> FrostRisk:
    """Judge the lowest temperature expected, -60 to 130 °F."""
    cold = _COLD.check(lowest)
    return FrostRisk(cold, freezes=cold < WATER_FREEZES, exposed_in_hours=cold <= 20)
