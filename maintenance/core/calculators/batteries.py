"""Batteries of 12 V: charge from volts and from gravity, freezing, what a load gets.

Volts at rest, charge in percent, temperatures in °F, capacity in Ah.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Literal

from maintenance.core.calculators.answers import (
    Answer,
    CalculatorError,
    Figure,
    between,
    limits,
    num,
    table,
)

Kind = Literal["flooded", "agm", "lifepo4"]
LeadAcid = Literal["flooded", "agm"]

# volts at rest -> percent: flooded by the table credited to the battery industry
# council; AGM by a powersports manual's bands and a reference page
VOLTS: Mapping[LeadAcid, tuple[tuple[Decimal, Decimal], ...]] = {
    "flooded": table("11.89 0, 12.06 25, 12.24 50, 12.45 75, 12.65 100"),
    "agm": table("11.8 0, 12.0 25, 12.3 50, 12.6 75, 12.8 100"),
}
_GRAVITY = table("1.120 0, 1.155 25, 1.190 50, 1.225 75, 1.265 100")
# specific gravity -> °F at which the electrolyte freezes: an off-road vehicle's manual
_FREEZING = table("1.05 27, 1.10 18, 1.15 5, 1.20 -17, 1.225 -35, 1.265 -75")
RECHARGE_AT = Decimal("12.4")  # V at rest, common practice
FILL_REFERENCE = Decimal(80)  # °F

_VOLTS = limits("The voltage", "6", "16", "V")
_SG = limits("The specific gravity", "1.0", "1.35")
_ELECTROLYTE = limits("The temperature of the electrolyte", "-40", "160", "°F")
_CHARGE = limits("The charge", "0", "100", "%")
_CAPACITY = limits("The capacity", "1", "2000", "Ah")
_LOAD = limits("The load", "0.01", "1000", "A")
_RATE = limits("The hours of the rating", "1", "100", "h")
_EXPONENT = limits("The exponent", "1", "2")
# Peukert exponents as a reference page spans them: (low, middle, high)
EXPONENTS: Mapping[Kind, tuple[Decimal, Decimal, Decimal]] = {
    "flooded": (Decimal("1.2"), Decimal("1.25"), Decimal("1.3")),
    "agm": (Decimal("1.05"), Decimal("1.1"), Decimal("1.15")),
    "lifepo4": (Decimal("1.05"), Decimal("1.05"), Decimal("1.05")),
}

LEAD_CAUTIONS = (
    "Acid burns, and a battery's hydrogen explodes. Wear eye protection, take rings "
    "off, keep sparks away and work in fresh air.",
    "A frozen battery can explode. Never charge or test it: thaw it and have it "
    "inspected.",
)
LITHIUM_CAUTIONS = (
    "Charging in frost ruins LiFePO4 cells. Never charge below freezing (32 °F), and "
    "follow the manufacturer's manual.",
)
CAUTIONS: Mapping[Kind, tuple[str, ...]] = {
    "flooded": LEAD_CAUTIONS,
    "agm": LEAD_CAUTIONS,
    "lifepo4": LITHIUM_CAUTIONS,
}


def charge_from_volts(volts: Figure, kind: Kind) -> Answer:
    """Charge in percent from the volts at rest (6 to 16 V) of a 12 V lead-acid one.

    Straight between the points of the table, held at 0 and 100. `BenchError` for
    LiFePO4, whose voltage hardly tells.
    """
    if kind == "lifepo4":
        raise CalculatorError(
            "Volts hardly show the charge of a LiFePO4 battery. Read its monitor."
        )
    shown = _VOLTS.check(volts)
    value = between(VOLTS[kind], shown)
    spread = "12.20 to 12.30" if kind == "flooded" else "12.05 to 12.35"
    return Answer(
        value,
        "%",
        f"{num(shown)} V at rest: {num(value, 1)} %",
        "Table credited to the battery industry council (BCI)."
        if kind == "flooded"
        else "A powersports owner's manual and a reference page.",
        "Only after hours without charge or load (6 to 24 by source). A meter off by "
        f"1 % is off by about 15 % of charge; sources give 50 % at {spread} V.",
        LEAD_CAUTIONS,
    )


def volts_at(charge: Figure, kind: LeadAcid) -> Decimal:
    """The volts at rest that belong to `charge` percent."""
    points = tuple((percent, volts) for volts, percent in VOLTS[kind])
    return between(points, _CHARGE.check(charge))


def corrected_gravity(reading: Figure, electrolyte: Figure = FILL_REFERENCE) -> Answer:
    """A hydrometer's reading taken to 80 °F: 0.004 less per 10 °F below, more above."""
    shown, warm = _SG.check(reading), _ELECTROLYTE.check(electrolyte)
    step = (warm - FILL_REFERENCE) / 10 * Decimal("0.004")
    value = shown + step
    return Answer(
        value,
        "",
        f"{num(shown, 3)} + ({num(warm, 1)} - 80) ÷ 10 · 0.004 = {num(value, 3)}",
        "Battery supplier's table and an energy page.",
        "A difference of more than 0.025 between cells: unserviceable "
        "(TM 9-6140-200-14).",
        LEAD_CAUTIONS,
    )


def charge_from_gravity(
    reading: Figure, electrolyte: Figure = FILL_REFERENCE
) -> Answer:
    """Charge in percent from a hydrometer, corrected to 80 °F; flooded cells only."""
    gravity = corrected_gravity(reading, electrolyte)
    value = between(_GRAVITY, gravity.value)
    return Answer(
        value,
        "%",
        f"{gravity.formula}: {num(value, 1)} %",
        "Table credited to the battery industry council (BCI), at 80 °F.",
        gravity.validity,
        LEAD_CAUTIONS,
    )


def freezing_from_gravity(gravity: Figure) -> Answer:
    """The °F at which electrolyte of this gravity (at 80 °F) freezes."""
    given = _SG.check(gravity)
    value = between(_FREEZING, given)
    return Answer(
        value,
        "°F",
        f"{num(given, 3)} freezes at about {num(value, 0)} °F",
        "Off-road vehicle owner's manual, straight between its points.",
        "Held at 27 °F under 1.050 and at -75 °F over 1.265. Tables that promise "
        "-10 °F for an empty battery are too hopeful.",
        LEAD_CAUTIONS,
    )


def freezing_from_charge(charge: Figure) -> Answer:
    """The °F at which a lead-acid battery of this charge (percent) freezes."""
    percent = _CHARGE.check(charge)
    gravity = between(_swapped(_GRAVITY), percent)
    found = freezing_from_gravity(gravity)
    return Answer(
        found.value,
        "°F",
        f"{num(percent, 1)} % is a gravity of {num(gravity, 3)}, which freezes at"
        f" about {num(found.value, 0)} °F",
        found.source,
        "The gravity table and the freezing table joined. " + found.validity,
        LEAD_CAUTIONS,
    )


def charge_that_freezes(temperature: Figure) -> Decimal:
    """The charge in percent under which a lead-acid battery freezes at this °F.

    0 where even an empty one does not, 100 where a full one does.
    """
    cold = limits("The lowest temperature", "-100", "130", "°F").check(temperature)
    gravity = between(_swapped(_FREEZING), cold)
    return between(_GRAVITY, gravity)


def _swapped(
    points: tuple[tuple[Decimal, Decimal], ...],
) -> tuple[tuple[Decimal, Decimal], ...]:
    return tuple(sorted((y, x) for x, y in points))


def hours_at_load(
    capacity: Figure, load: Figure, *, exponent: Figure, rate_hours: Figure = 20
) -> Answer:
    """Hours from full to empty at a steady load, by Peukert: H · (C / (I · H))^k.

    `capacity` C in Ah at the `rate_hours` H rate, `load` I in A, exponent k from 1 to
    2 (`EXPONENTS`). Below the rated current the formula promises more than the rated
    Ah; C / I is the cap there. Sources: reference pages. `BenchError` beyond the spans.
    """
    c, i = _CAPACITY.check(capacity), _LOAD.check(load)
    h, k = _RATE.check(rate_hours), _EXPONENT.check(exponent)
    value = min(h * (c / (i * h)) ** k, c / i)
    return Answer(
        value,
        "h",
        f"{num(h)} · ({num(c)} ÷ ({num(i)} · {num(h)}))^{num(k)} = {num(value)} h"
        f" = {num(value * i)} Ah",
        "Peukert's law; exponents from a reference page.",
        "A healthy battery from full to empty. Plan with half of it for lead-acid, "
        "which is kept above 50 %.",
    )
