"""Which unit a spelling means."""

import re
import unicodedata
from collections.abc import Mapping

from maintenance.core.units.table import UNITS, UnitError

# symbol -> other spellings; case, spaces, dots and hyphens do not matter
_SPELLINGS: Mapping[str, str] = {
    "mi": "mile|miles",
    "km": "kms|kilometer|kilometers|kilometre|kilometres",
    "m": "meter|meters|metre|metres",
    "ft": "foot|feet",
    "in": 'inch|inches|"',
    "mm": "millimeter|millimeters|millimetre|millimetres",
    "1/32 in": '32nd|32nds|/32|/32 in|/32 inch|/32"|/32nd|/32nds',
    "h": "hr|hrs|hour|hours",
    "min": "mins|minute|minutes",
    "s": "sec|second|seconds",
    "ft·lbf": "ft lb|ft lbs|lb ft|lbs ft|lbf ft|foot pound|foot pounds|pound feet",
    "in·lbf": "in lb|in lbs|lb in|lbs in|lbf in|inch pound|inch pounds",
    "in·ozf": "in oz|oz in|ozf in",
    "N·m": "newton meter|newton meters|newton metre|newton metres",
    "kgf·m": "kg m|m kg|m kgf|kgm",
    "kgf·cm": "kg cm|cm kg|cm kgf",
    "psi": "lbf/in²|lb/in²|lbs/in²",
    "kgf/cm²": "kg/cm²",
    "in w.c.": "in wc|in h2o|inch wc|inches wc",
    "gal": "us gal|gallon|gallons|us gallon|us gallons|gals",
    "qt": "us qt|quart|quarts|qts",
    "fl oz": "us fl oz|fluid ounce|fluid ounces",
    "imp gal": "imperial gal|imperial gallon|imperial gallons|uk gal",
    "L": "liter|liters|litre|litres",
    "lb": "lbs|pound|pounds",
    "oz": "ounce|ounces",
    "kg": "kgs|kilogram|kilograms|kilo|kilos",
    "short ton": "us ton|short tons",
    "t": "tonne|tonnes|metric ton|metric tons",
    "mph": "mi/h",
    "km/h": "kmh|kph",
    "Btu": "btu (it)",
    "hp": "hp (550 ft·lbf/s)|horsepower",
    "Btu/h": "btuh|btu/hr",
    "V": "volt|volts",
    "A": "amp|amps|ampere|amperes",
    "Ah": "amp hour|amp hours",
    "W": "watt|watts",
    "Ω": "ohm|ohms",
    "°F": "f|deg f|degrees f|fahrenheit",
    "°C": "c|deg c|degrees c|celsius",
    "K": "kelvin",
    "°R": "deg r|rankine",
    "mpg": "mpg (us)|mi/gal",
    "L/100 km": "L/100",
}


# signs that phones and word processors put for the plain ones
_TYPED = str.maketrans(
    {"\u2019": "'", "\u2212": "-", "\u201d": '"', "\u2033": '"', "\u00ba": "°"}
)
_IDLE_SIGNS = " .*_°\u00b7\u22c5\u2022\u00d7"


def plain(text: str) -> str:
    typed = unicodedata.normalize("NFKC", text.translate(_TYPED))
    return re.sub(r"\s+", " ", typed.translate(_TYPED)).strip()


def bare(text: str) -> str:
    """A spelling without what people vary: case, spaces, dots, hyphens."""
    return "".join(
        sign
        for sign in plain(text).casefold()
        if sign not in _IDLE_SIGNS and unicodedata.category(sign) != "Pd"
    )


BY_SPELLING: Mapping[str, str] = {
    bare(spelling): symbol
    for symbol in UNITS
    for spelling in (symbol, *filter(None, _SPELLINGS.get(symbol, "").split("|")))
}


def find_unit(text: str, *, quantity: str | None = None) -> str:
    """The symbol of the unit that `text` spells; `UnitError` lists the known ones.

    With a `quantity` the error lists only its units.
    """
    symbol = BY_SPELLING.get(bare(text))
    if symbol is None:
        known = ", ".join(units_of(quantity) if quantity else UNITS)
        raise UnitError(f"“{text.strip()}” isn't a known unit. Known units: {known}.")
    return symbol


def quantity_of(unit: str) -> str:
    """What `unit` measures: `length`, `torque`, `temperature` …"""
    return UNITS[find_unit(unit)].quantity


def units_of(quantity: str) -> tuple[str, ...]:
    """The symbols for one quantity, in the order to offer them."""
    return tuple(u.symbol for u in UNITS.values() if u.quantity == quantity)
