"""What draws current from a 12 V battery while a rig stands or is lived in."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.answers import Figure, limits

_AMPS = limits("The current", "0", "500", "A")
_PART = limits("The part of the time", "0", "1")
_TOTAL = limits("The drains together", "0", "500", "A")


@dataclass(frozen=True, slots=True)
class Load:
    """A drain in A as published; `parasitic`: it also draws from a rig that stands."""

    key: str
    name: str
    low: Decimal
    high: Decimal
    state: str
    source: str
    parasitic: bool = True

    @property
    def typical(self) -> Decimal:
        """The middle of the span; no source gives one."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Drain:
    """A steady current in A."""

    low: Decimal
    typical: Decimal
    high: Decimal


NO_DRAIN = Drain(Decimal(0), Decimal(0), Decimal(0))

_MANUAL = "RV owner manual page"
_ALARM = "RV alarm owner manual (typical figure)"
_SELLER = "RV electronics seller table"
_MEMORY = "from memory"
_ON = "always on"
_SWITCHED = "while switched on"
_RUNS = "while running"
_MOVES = "while moving"
# key, name, amps from, amps to, state, source, draws while the rig stands
_ROWS = (
    (
        "alarm_recent",
        "propane and CO alarm, recent low-power type",
        "0.017",
        "0.017",
        _ON,
        _ALARM,
        True,
    ),
    (
        "alarm_older",
        "propane alarm, older type",
        "0.07",
        "0.125",
        _ON,
        _MEMORY,
        True,
    ),
    (
        "refrigerator_gas",
        "absorption refrigerator running on propane",
        "0.5",
        "0.5",
        "while cooling",
        _MANUAL,
        False,
    ),
    (
        "refrigerator_frame",
        "refrigerator door-frame moisture heater",
        "0.24",
        "0.24",
        "if fitted and on",
        f"{_MANUAL} (without a unit, taken as A)",
        False,
    ),
    ("radio_memory", "radio memory", "0.005", "0.02", _ON, _MEMORY, True),
    ("antenna", "antenna amplifier", "0.03", "0.1", _SWITCHED, _MEMORY, True),
    (
        "control_boards",
        "thermostat and control boards together",
        "0.02",
        "0.1",
        _ON,
        _MEMORY,
        True,
    ),
    (
        "modules_asleep",
        "tow vehicle or chassis modules asleep",
        "0.02",
        "0.05",
        _ON,
        "common practice (50 mA service limit)",
        True,
    ),
    ("smart_lock", "smart lock", "0.017", "0.042", _ON, _SELLER, True),
    ("sensor_hub", "temperature sensor hub", "0.025", "0.083", _ON, _SELLER, True),
    ("router", "cellular router", "0.17", "0.5", _SWITCHED, _SELLER, True),
    ("usb_idle", "USB charger idle", "0.008", "0.042", _ON, _SELLER, True),
    ("inverter_idle", "inverter idle", "0.5", "2", _SWITCHED, _MEMORY, True),
    ("led_light", "LED light", "0.1", "0.3", "while on", _MEMORY, False),
    ("water_pump", "water pump", "4", "8", _RUNS, _MEMORY, False),
    ("furnace_blower", "furnace blower", "3", "11", _RUNS, _MEMORY, False),
    ("roof_fan", "roof vent fan", "1.5", "3", _RUNS, _MEMORY, False),
    ("slide_out", "slide-out motor", "10", "40", _MOVES, _MEMORY, False),
    ("leveling", "hydraulic leveling pump", "50", "200", _MOVES, _MEMORY, False),
)
LOADS: Mapping[str, Load] = {
    key: Load(key, name, Decimal(low), Decimal(high), state, source, parasitic)
    for key, name, low, high, state, source, parasitic in _ROWS
}


def sum_loads(chosen: Iterable[tuple[Load, Figure]]) -> Drain:
    """The steady drain of loads, each with the part of the time it draws (0 to 1).

    `BenchError`: currents beyond 0 to 500 A each or together, a part beyond 0 to 1.
    """
    low = typical = high = Decimal(0)
    for load, part in chosen:
        on = _PART.check(part)
        low += _AMPS.check(load.low) * on
        typical += load.typical * on
        high += _AMPS.check(load.high) * on
    return Drain(low, typical, _TOTAL.check(high))


def measured(amps: Figure) -> Drain:
    """One measured drain: low, typical and high are the same."""
    shown = _AMPS.check(amps)
    return Drain(shown, shown, shown)
