"""The units and their exact sizes."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction


class UnitError(ValueError):
    """A unit or a number that cannot be used; the text is fit for a user."""


@dataclass(frozen=True, slots=True)
class Unit:
    """base = (value + offset) * factor, or factor / value where `inverse`."""

    symbol: str
    quantity: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    inverse: bool = False


_INCH = Fraction("0.0254")  # m; international yard of 0.9144 m / 36
_FOOT = 12 * _INCH
_MILE = 5280 * _FOOT
_POUND = Fraction("0.45359237")  # kg
_GRAVITY = Fraction("9.80665")  # m/s²
_LBF = _POUND * _GRAVITY  # N
_GALLON = 231 * _INCH**3 * 1000  # L
_PSI = _LBF / _INCH**2  # Pa
_BTU = Fraction("1055.05585262")  # J, International Table
_BTU_TH = Fraction("4.184") * 1000 * _POUND * Fraction(5, 9)  # J
_WATER = 1000 * _GRAVITY  # Pa per m of water at 1 kg/L

# quantity -> symbol -> size in the unit that has size 1
_TABLE: Mapping[str, Mapping[str, Fraction]] = {
    "length": {
        "mi": _MILE,
        "km": Fraction(1000),
        "m": Fraction(1),
        "ft": _FOOT,
        "in": _INCH,
        "cm": Fraction(1, 100),
        "mm": Fraction(1, 1000),
        "1/32 in": _INCH / 32,
    },
    "time": {"h": Fraction(1), "min": Fraction(1, 60), "s": Fraction(1, 3600)},
    "torque": {
        "ft·lbf": _LBF * _FOOT,
        "in·lbf": _LBF * _INCH,
        "in·ozf": _LBF / 16 * _INCH,
        "N·m": Fraction(1),
        "kgf·m": _GRAVITY,
        "kgf·cm": _GRAVITY / 100,
    },
    "force": {
        "lbf": _LBF,
        "N": Fraction(1),
        "kN": Fraction(1000),
        "kgf": _GRAVITY,
    },
    "pressure": {
        "psi": _PSI / 1000,
        "kPa": Fraction(1),
        "bar": Fraction(100),
        "atm": Fraction("101.325"),
        "kgf/cm²": _GRAVITY * 10,
        "in w.c.": _WATER * _INCH / 1000,
        "mbar": Fraction(1, 10),
        "Pa": Fraction(1, 1000),
    },
    "volume": {
        "gal": _GALLON,
        "qt": _GALLON / 4,
        "fl oz": _GALLON / 128,
        "imp gal": Fraction("4.54609"),
        "L": Fraction(1),
        "mL": Fraction(1, 1000),
    },
    "mass": {
        "lb": _POUND,
        "oz": _POUND / 16,
        "short ton": 2000 * _POUND,
        "kg": Fraction(1),
        "g": Fraction(1, 1000),
        "t": Fraction(1000),
    },
    "speed": {"mph": _MILE / 1000, "km/h": Fraction(1)},
    "energy": {
        "Btu": _BTU,
        "Btu (th)": _BTU_TH,
        "J": Fraction(1),
        "Wh": Fraction(3600),
        "kWh": Fraction(3_600_000),
    },
    "power": {
        "W": Fraction(1),
        "kW": Fraction(1000),
        "hp": 550 * _FOOT * _LBF,
        "Btu/h": _BTU / 3600,
    },
    "voltage": {"V": Fraction(1), "mV": Fraction(1, 1000)},
    "current": {"A": Fraction(1), "mA": Fraction(1, 1000)},
    "charge": {"Ah": Fraction(1), "mAh": Fraction(1, 1000)},
    "resistance": {"Ω": Fraction(1), "kΩ": Fraction(1000)},
}
_OTHERS = (
    Unit("°F", "temperature", Fraction(5, 9), Fraction("459.67")),
    Unit("°C", "temperature", Fraction(1), Fraction("273.15")),
    Unit("K", "temperature", Fraction(1)),
    Unit("°R", "temperature", Fraction(5, 9)),
    # 100 km hold 100 / 1.609344 miles; each mile takes 1/x gallons
    Unit("mpg", "fuel use", 100_000 * _GALLON / _MILE, inverse=True),
    Unit("L/100 km", "fuel use", Fraction(1)),
)
UNITS: Mapping[str, Unit] = {
    unit.symbol: unit
    for unit in (
        *(Unit(s, q, f) for q, sizes in _TABLE.items() for s, f in sizes.items()),
        *_OTHERS,
    )
}
