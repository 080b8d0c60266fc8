"""The form of a household's country: what dates, clocks, money and numbers look like,
with which day a week begins, its paper and whom to call. The words stay English.

It is activated as Django activates a time zone: for pages by the middleware, by hand in
mail, print, calendar and commands. Without it the form is that of the United States.
`words.py` writes by it.
"""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import fields, is_dataclass, replace
from functools import cache
from typing import Any

from babel import Locale
from babel.numbers import get_territory_currencies

from maintenance.core.units import NUMBER_MARKS

HOME = "US"

EUROPE = """
AT BE CH CY CZ DE DK EE ES FI FR HU IE IT LT LV MT NL NO PL PT RO SE SI SK"""
# The countries there are, each with an English of its own in Babel, and whom to call
# there. 911: 47 CFR 9.4, and the national number of Canada. 112: the European Union
# (Directive (EU) 2018/1972, Article 109) and the states beside it; any mobile phone
# takes it (3GPP TS 22.101, 10.1.1). The others are national numbers.
EMERGENCY = {
    "US": "911",
    "CA": "911",
    **dict.fromkeys((*EUROPE.split(), "ZA"), "112"),
    "GB": "999",
    "AU": "000",
    "NZ": "111",
}
LETTER = {"US", "CA"}  # elsewhere A4, ISO 216
FAHRENHEIT = {"US"}
FALL = {"US", "CA"}

_country: ContextVar[str] = ContextVar("country", default=HOME)


def country() -> str:
    return _country.get()


@contextmanager
def override(code: str) -> Iterator[None]:
    """All that is written meanwhile is in the form of that country."""
    token, marks = _country.set(code), NUMBER_MARKS.set(_number_marks(code))
    try:
        yield
    finally:
        _country.reset(token)
        NUMBER_MARKS.reset(marks)


def locale() -> Locale:
    """The English of the country, by which Babel writes."""
    return _locale(_country.get())


@cache
def _locale(code: str) -> Locale:
    return Locale.parse(f"en_{code}")


@cache
def _number_marks(code: str) -> tuple[str, str]:
    marks = _locale(code).number_symbols["latn"]
    # A narrow space is missing in the fonts of some mail programs.
    return marks["group"].replace("\N{NARROW NO-BREAK SPACE}", "\xa0"), marks["decimal"]


def first_weekday() -> int:
    """With which day a week begins; 0 is Monday."""
    return int(locale().first_week_day)


def weekdays() -> list[int]:
    """The days of a week in their order; 0 is Monday."""
    first = first_weekday()
    return [(first + n) % 7 for n in range(7)]


def day_order() -> str:
    """What comes first in a date of figures: `month`, `day`, or neither where a country
    begins with the year, so that people there write both."""
    pattern = locale().date_formats["short"].pattern.casefold()
    return {"m": "month", "d": "day"}.get(pattern[0], "")


def paper_size() -> str:
    """A page size as CSS names it."""
    return "letter" if _country.get() in LETTER else "a4"


def emergency_number() -> str:
    return EMERGENCY[_country.get()]


def currencies() -> set[str]:
    """Those of the countries there are."""
    return {code for one in EMERGENCY for code in get_territory_currencies(one)}


def in_country(value: Any, number: str) -> Any:
    """Texts of the library, which are written for 911, with the number to call. What is
    made of dataclasses, mappings and tuples is made anew."""
    if isinstance(value, str):
        return re.sub(rf"\b{EMERGENCY[HOME]}\b", number, value)
    if isinstance(value, tuple | list):
        return type(value)(in_country(one, number) for one in value)
    if isinstance(value, Mapping):
        return {key: in_country(one, number) for key, one in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        own = (one.name for one in fields(value) if one.init)
        return replace(
            value, **{name: in_country(getattr(value, name), number) for name in own}
        )
    return value


def country_choices() -> list[tuple[str, str]]:
    """Countries with their names: the United States first, then by the alphabet."""
    names = _locale(HOME).territories
    others = sorted((names[code], code) for code in EMERGENCY if code != HOME)
    return [(HOME, names[HOME]), *((code, name) for name, code in others)]
