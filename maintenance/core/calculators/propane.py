"""Propane: what a cylinder or tank holds, how long it lasts, how hard it presses.

Weights in lb, volumes in US gallons, heat in BTU, temperatures in °F.
"""

from collections.abc import Sequence
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

BTU_PER_POUND = Decimal(21_548)  # commercial; other tables 21,591 and 21,622
BTU_PER_GALLON = Decimal(91_502)  # other tables 91,547 and 91,690
FILLING_DENSITY = Decimal("0.42")  # DOT, propane by weight of water capacity
FILL_LIMIT = Decimal("0.8")  # NFPA 58, at the fixed gauge or stop-fill device
LOCK_UP = Decimal(14)  # in. w.c., an RV technician's examination page
SET_POINT = Decimal(11)  # in. w.c., from memory

HEAT = "Heat of commercial propane as NFPA 58 Annex B lists it (read on sellers' pages)"
GAS_CAUTIONS = (
    "If you smell gas, it can explode. Get everybody out, touch no switch, use no "
    "flame, then call 911 from outside. Close the cylinder only if you can reach it "
    "safely from outside.",
    "A flame sets off leaking gas. Look for leaks with leak solution, never with a "
    "flame.",
    "Heat or a cylinder on its side can release gas. Keep cylinders upright, outside "
    "and away from heat. Leave repairs and any change to a regulator to a licensed "
    "shop.",
    "A blocked vent can kill. Keep the regulator's vent and every combustion-air and "
    "exhaust opening clear.",
)
FILL_CAUTIONS = (
    "An overfilled cylinder can burst: warm propane needs room. Only a trained filler "
    "fills it, by the stop-fill device, and never past 80 %.",
    *GAS_CAUTIONS,
)
# psig of pure propane, CoolProp 8.0.0, each 10 °F; commercial propane is higher
_PRESSURE = table(
    "-44 -0.1, -40 1.4, -30 5.7, -20 10.7, -10 16.7, 0 23.7, 10 31.8, 20 41.1, "
    "30 51.8, 40 63.9, 50 77.6, 60 93.0, 70 110.2, 80 129.3, 90 150.5, 100 173.9, "
    "105 186.5, 110 199.6, 120 227.8, 130 258.7"
)
# lb per US gallon of the liquid, same source
_DENSITY = table(
    "-44 4.849, -40 4.827, -30 4.773, -20 4.718, -10 4.661, 0 4.604, 10 4.545, "
    "20 4.485, 30 4.424, 40 4.361, 50 4.296, 60 4.229, 70 4.159, 80 4.087, "
    "90 4.012, 100 3.934, 105 3.893, 110 3.851, 120 3.764, 130 3.671"
)
BOILING_POINT = Decimal("-43.8")  # °F at 14.696 psia, CoolProp
_SEA_LEVEL = Decimal("14.696")

_CAPACITY = limits("The water capacity", "2", "1000", "lb")
_TANK = limits("The volume of the tank", "1", "500", "gal")
_POUNDS = limits("The propane", "0", "1000", "lb")
_GALLONS = limits("The propane", "0", "500", "gal")
_DEMAND = limits("The demand", "1", "500000", "BTU/h")
_DUTY = limits("The duty", "0.001", "1")
_TEMPERATURE = limits("The temperature", "-44", "130", "°F")
_COLUMN = limits("The pressure", "0", "100", "in. w.c.")


@dataclass(frozen=True, slots=True)
class Appliance:
    """`duty`: the part of the time it burns, above 0 to 1."""

    name: str
    btu_per_hour: Decimal
    duty: Decimal = Decimal(1)


def fill_by_weight(water_capacity: Figure) -> Answer:
    """The propane in lb that a DOT cylinder may hold: 0.42 · stamped WC in lb."""
    capacity = _CAPACITY.check(water_capacity)
    value = capacity * FILLING_DENSITY
    return Answer(
        value,
        "lb",
        f"0.42 · {num(capacity)} lb = {num(value)} lb",
        "DOT filling density rule (propane safety training page).",
        "WC is stamped on the collar. By volume it is 82.8 % at 60 °F, so the 80 % "
        "of the stop-fill device comes a little earlier.",
        FILL_CAUTIONS,
    )


def fill_by_volume(gallons: Figure) -> Answer:
    """The gallons usable in a tank of `gallons` water volume: 80 % (NFPA 58)."""
    volume = _TANK.check(gallons)
    value = volume * FILL_LIMIT
    return Answer(
        value,
        "gal",
        f"0.80 · {num(volume)} gal = {num(value)} gal",
        "NFPA 58: 80 % of the volume at the fixed gauge or stop-fill device.",
        "",
        FILL_CAUTIONS,
    )


def heat_of_pounds(pounds: Figure) -> Answer:
    """The heat in BTU of `pounds` lb of propane, at 21,548 BTU/lb."""
    weight = _POUNDS.check(pounds)
    return _heat(weight, "lb", BTU_PER_POUND)


def heat_of_gallons(gallons: Figure) -> Answer:
    """The heat in BTU of `gallons` of propane, at 91,502 BTU/gal."""
    return _heat(_GALLONS.check(gallons), "gal", BTU_PER_GALLON)


def _heat(amount: Decimal, unit: str, each: Decimal) -> Answer:
    value = amount * each
    told = f"{num(amount)} {unit} · {num(each)} BTU/{unit} = {num(value, 0)} BTU"
    return Answer(value, "BTU", told, f"{HEAT}.", "Other tables differ by 0.3 %.")


def hours_left(heat: Answer, appliances: Sequence[Appliance]) -> Answer:
    """Hours that `heat` (BTU) lasts: heat / sum of BTU per hour · duty.

    `BenchError`: no appliance, or figures beyond 1 to 500,000 BTU/h and duty 0 to 1.
    """
    if not appliances:
        raise CalculatorError("Choose at least one gas appliance.")
    parts = [(_DEMAND.check(a.btu_per_hour), _DUTY.check(a.duty)) for a in appliances]
    hours = heat.value / sum(btu * duty for btu, duty in parts)
    told = " + ".join(f"{num(btu)} · {num(duty, 3)}" for btu, duty in parts)
    return Answer(
        hours,
        "h",
        f"{num(heat.value, 0)} BTU ÷ ({told}) BTU/h = {num(hours)} h"
        f" = {num(hours / 24)} d",
        f"{HEAT}; hours = heat ÷ (demand · duty).",
        "Stored heat only. A cold or nearly empty cylinder makes vapor more slowly, "
        "and the share of the time is a guess.",
        GAS_CAUTIONS,
    )


def vapor_pressure(temperature: Figure) -> Answer:
    """The pressure of pure propane in psig at -44 to 130 °F, sea level.

    Reckoned between the computed points (CoolProp 8.0.0), straight in the logarithm
    of the absolute pressure over 1 / absolute temperature.
    """
    at = _TEMPERATURE.check(temperature)
    points = tuple(
        (-1 / (t + Decimal("459.67")), (p + _SEA_LEVEL).ln()) for t, p in _PRESSURE
    )
    value = between(points, -1 / (at + Decimal("459.67"))).exp() - _SEA_LEVEL
    return Answer(
        value,
        "psig",
        f"about {num(value, 1)} psig at {num(at, 1)} °F",
        "Computed with CoolProp 8.0.0 for pure propane.",
        "Commercial propane presses harder: 122 to 127 psig at 70 °F. Below about "
        "-44 °F it makes no vapor.",
        GAS_CAUTIONS,
    )


def liquid_density(temperature: Figure) -> Answer:
    """The weight of liquid propane in lb per US gallon at -44 to 130 °F."""
    at = _TEMPERATURE.check(temperature)
    value = between(_DENSITY, at)
    told = f"{num(value, 3)} lb/gal at {num(at, 1)} °F"
    return Answer(value, "lb/gal", told, "Computed with CoolProp 8.0.0, pure propane.")


@dataclass(frozen=True, slots=True)
class LockUp:
    """Whether a regulator closes as it should; pressure in in. w.c."""

    pressure: Decimal
    passes: bool
    source: str = "Lock-up not above 14 in. w.c.: an RV technician's examination page."
    cautions: tuple[str, ...] = (
        "Wrong gas pressure can start a fire. Have a licensed shop replace a regulator "
        "that fails, and never adjust it.",
        *GAS_CAUTIONS,
    )


def lock_up(pressure: Figure) -> LockUp:
    """Judge the pressure in in. w.c. with every appliance off: at most 14."""
    shown = _COLUMN.check(pressure)
    return LockUp(shown, shown <= LOCK_UP)
