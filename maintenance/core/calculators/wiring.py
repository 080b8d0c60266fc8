"""Voltage that a pair of copper wires loses. Lengths in ft one way, currents in A."""

from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from maintenance.core.calculators.answers import Answer, Figure, limits, num
from maintenance.core.units import convert

# Gauge -> diameter in mm by the definition of the American wire gauge (ASTM B258):
# 0.127 · 92^((36 - n) / 39); 0 to 4/0 are n = 0 to -3.
GAUGES = MappingProxyType(
    {
        name: Decimal("0.127") * Decimal(92) ** (Decimal(36 - n) / 39)
        for name, n in [
            *((str(n), n) for n in (18, 16, 14, 12, 10, 8, 6, 4, 2, 1)),
            *(("1/0", 0), ("2/0", -1), ("3/0", -2), ("4/0", -3)),
        ]
    }
)
PI = Decimal("3.14159265358979")
# Annealed copper at 20 °C, Ω·mm²/m: 100 % of the International Annealed Copper Standard
# (IEC 60028: 1/58), from memory.
COPPER = 1 / Decimal(58)
# 3 % for lights, pumps, chargers and the 120 V side, 10 % for what does not mind:
# marine and RV practice (ABYC E-11, NEC 210.19 note, from memory).
WANTED, MOST = Decimal(3), Decimal(10)
_AMPS = limits("The current", "0.1", "400", "A")
_FEET = limits("The length of the wire", "0.5", "500", "ft")
_VOLTS = limits("The voltage", "10", "250", "V")

SOURCE = (
    "Gauge: ASTM B258, copper: IEC 60028 (from memory). Limits of 3 and 10 %: common "
    "practice."
)
VALIDITY = (
    "For copper at 68 °F (20 °C), one wire out and one back. Wire in use is warmer and "
    "loses up to a fifth more; poor contacts lose more than the wire."
)
CAUTIONS = (
    "An overloaded wire starts fires, and its fuse or breaker protects it. Never fit a "
    "larger one because a wire is long. The manufacturer's table has the wire's limit.",
    "Live wires shock and burn. Before you work on wires, unplug and disconnect the "
    "battery. Leave work on 120 V to a licensed electrician.",
)


@dataclass(frozen=True, slots=True)
class Drop:
    """`lost` in V, `percent` of the voltage at the source."""

    lost: Answer
    percent: Decimal

    @property
    def small(self) -> bool:
        return self.percent <= WANTED

    @property
    def bearable(self) -> bool:
        return self.percent <= MOST


def resistance(gauge: str, feet: Figure) -> Decimal:
    """Ω of one wire of so many feet."""
    meters = convert(_FEET.check(feet), "ft", "m")
    return COPPER * meters / (PI * GAUGES[gauge] ** 2 / 4)


def voltage_drop(gauge: str, *, amps: Figure, feet: Figure, volts: Figure) -> Drop:
    """What a load of `amps` loses on a pair of wires, `feet` long one way.

    V = 2 · I · R. `CalculatorError`: a figure beyond its span.
    """
    current, source = _AMPS.check(amps), _VOLTS.check(volts)
    ohms = resistance(gauge, feet)
    lost = min(2 * current * ohms, source)
    told = f"2 · {num(current, 1)} A · {num(ohms, 4)} Ω = {num(lost)} V"
    answer = Answer(lost, "V", told, SOURCE, VALIDITY, CAUTIONS)
    return Drop(answer, lost / source * 100)


def thinnest(*, amps: Figure, feet: Figure, volts: Figure) -> str:
    """The thinnest gauge that loses no more than 3 %; empty where none does."""
    for gauge in GAUGES:
        if voltage_drop(gauge, amps=amps, feet=feet, volts=volts).small:
            return gauge
    return ""
