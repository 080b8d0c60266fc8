"""Mains of 120 V: amps and watts, the 30 A and 50 A service, voltage, inverter."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from maintenance.core.calculators.answers import Answer, Figure, limits, num

Band = Literal["low", "ok", "high"]

NOMINAL = Decimal(120)
CONTINUOUS = Decimal("0.8")  # NEC continuous-load rule
_VOLTS = limits("The voltage", "1", "300", "V")
_AMPS = limits("The current", "0", "200", "A")
_WATTS = limits("The power", "0", "50000", "W")
_BATTERY = limits("The battery's voltage", "10", "60", "V")
_PERCENT = limits("The tolerance", "0", "50", "%")
_EFFICIENCY = limits("The efficiency of the inverter", "0.3", "1")

THIN_CABLES = (
    "Thin cables burn. The manufacturer's manual gives the size of cables and fuse."
)
WRONG_VOLTAGE = (
    "Wrong voltage ruins motors and starts fires. Unplug, and use another site or "
    "outlet."
)
CAUTIONS = (
    "Live wires kill. Before any work unplug, stop the generator and switch the "
    "inverter off.",
    "Bad wiring kills and starts fires. Leave work on 120 V wiring, outlets and cords "
    "to a licensed electrician.",
)


@dataclass(frozen=True, slots=True)
class Service:
    """A shore supply: `legs` of 120 V with `amps` each."""

    amps: Decimal
    legs: int
    source: str


SERVICES: Mapping[str, Service] = {
    "15": Service(Decimal(15), 1, "P = V · I"),
    "20": Service(Decimal(20), 1, "P = V · I; NEC 2017 551.71"),
    "30": Service(Decimal(30), 1, "P = V · I; NEC 551 load tables (from memory)"),
    "50": Service(Decimal(50), 2, "P = V · I on both legs; NEC 551 (from memory)"),
}


def watts(volts: Figure, amps: Figure) -> Answer:
    """P = V · I in W."""
    v, i = _VOLTS.check(volts), _AMPS.check(amps)
    told = f"{num(v)} V · {num(i)} A = {num(v * i)} W"
    return Answer(v * i, "W", told, "P = V · I.", cautions=CAUTIONS)


def amps(power: Figure, volts: Figure = NOMINAL) -> Answer:
    """I = P / V in A, for a load that keeps its power."""
    p, v = _WATTS.check(power), _VOLTS.check(volts)
    return Answer(
        p / v,
        "A",
        f"{num(p)} W ÷ {num(v)} V = {num(p / v)} A",
        "I = P / V.",
        "Loads of constant power draw more at low voltage; plain heaters draw less.",
        CAUTIONS,
    )


def capacity(service: Service) -> Answer:
    """What a shore supply gives in W, all legs together."""
    value = NOMINAL * service.amps * service.legs
    told = f"{service.legs} · 120 V · {num(service.amps)} A = {num(value)} W"
    validity = (
        "Each leg has its own limit: a leg can trip while the other is idle."
        if service.legs > 1
        else ""
    )
    return Answer(value, "W", told, f"{service.source}.", validity, CAUTIONS)


def continuous(amps: Figure) -> Answer:
    """The A that a circuit of `amps` may carry for hours: 80 %."""
    rated = _AMPS.check(amps)
    value = rated * CONTINUOUS
    told = f"0.80 · {num(rated)} A = {num(value)} A"
    return Answer(
        value, "A", told, "NEC continuous-load rule.", "3 hours or more.", CAUTIONS
    )


@dataclass(frozen=True, slots=True)
class LoadOnService:
    """Running loads of one leg against its supply, in W; motor start not counted."""

    running: Decimal
    capacity: Decimal
    continuous: Decimal

    @property
    def fits(self) -> bool:
        return self.running <= self.capacity

    @property
    def fits_for_hours(self) -> bool:
        return self.running <= self.continuous


def load_on(service: Service, running: Sequence[Figure]) -> LoadOnService:
    """Whether `running` loads in W fit on one leg of a supply."""
    total = _WATTS.check(sum((_WATTS.check(each) for each in running), Decimal(0)))
    most = NOMINAL * service.amps
    return LoadOnService(total, most, most * CONTINUOUS)


@dataclass(frozen=True, slots=True)
class TwoLegs:
    """The two legs of a 50 A supply; each trips by itself. `neutral`: A that return
    over the neutral, the difference of the legs (120 V loads in opposite phase)."""

    first: LoadOnService
    second: LoadOnService
    neutral: Decimal


def load_on_legs(first: Figure, second: Figure) -> TwoLegs:
    """Running loads in W on each leg of the 50 A, 120/240 V supply."""
    service = SERVICES["50"]
    legs = load_on(service, [first]), load_on(service, [second])
    return TwoLegs(*legs, abs(legs[0].running - legs[1].running) / NOMINAL)


def voltage_band(percent: Figure, nominal: Figure = NOMINAL) -> tuple[Answer, Answer]:
    """The lowest and highest V within ±`percent` of `nominal`."""
    v, part = _VOLTS.check(nominal), _PERCENT.check(percent)
    source = "ANSI C84.1 Range A: ±5 %; equipment ±10 % (common practice)."
    low, high = v * (100 - part) / 100, v * (100 + part) / 100
    return (
        Answer(low, "V", f"{num(v)} - {num(part)} % = {num(low)} V", source),
        Answer(high, "V", f"{num(v)} + {num(part)} % = {num(high)} V", source),
    )


@dataclass(frozen=True, slots=True)
class Voltage:
    """A measured voltage by the band of the supply and by that of equipment."""

    volts: Decimal
    service: Band  # 114 to 126 V, ANSI C84.1 range A
    equipment: Band  # 108 to 132 V, common practice
    cautions: tuple[str, ...]


def judge_voltage(volts: Figure) -> Voltage:
    """Judge a 120 V outlet's voltage; outside 108 to 132 V unplug the rig."""
    shown = _VOLTS.check(volts)
    equipment = _band(shown, Decimal(10))
    advice = () if equipment == "ok" else (WRONG_VOLTAGE,)
    return Voltage(shown, _band(shown, Decimal(5)), equipment, (*advice, *CAUTIONS))


def _band(volts: Decimal, percent: Decimal) -> Band:
    low, high = voltage_band(percent)
    if volts < low.value:
        return "low"
    return "ok" if volts <= high.value else "high"


def inverter_amps(
    power: Figure,
    *,
    battery_volts: Figure = 12,
    efficiency: Figure = Decimal("0.88"),
) -> Answer:
    """The A that an inverter draws from the battery: P / (V · e)."""
    p, v = _WATTS.check(power), _BATTERY.check(battery_volts)
    part = _EFFICIENCY.check(efficiency)
    value = p / (v * part)
    return Answer(
        value,
        "A",
        f"{num(p)} W ÷ ({num(v)} V · {num(part)}) = {num(value, 1)} A",
        "I = P / (V · e).",
        "The efficiency is the manufacturer's; idling draws current too.",
        (THIN_CABLES, *CAUTIONS),
    )


def starting_watts(running: Figure) -> Answer:
    """What a motor can draw at its start, in W: about three times its running power."""
    load = _WATTS.check(running)
    told = f"3 · {num(load)} W = {num(load * 3)} W for a moment"
    return Answer(load * 3, "W", told, "Motorhome owner manual.", cautions=CAUTIONS)
