"""Plain data that several kinds of trigger read and write: lengths, meters, bounds."""

from collections.abc import Callable
from decimal import Decimal
from typing import TypeVar, cast

from maintenance.core.facts import FactError, Span, Unit
from maintenance.core.fields import Fields, as_amount, as_choice, as_count, as_text
from maintenance.core.triggers.kind import DAYS, Units

T = TypeVar("T")

# Our own bounds, wide on purpose: they catch a slip, not an opinion.
MOST = {"distance": 1_000_000, "hours": 100_000}
MOST_TIME = {"days": 36_525, "months": 1_200, "years": 100}
MOST_DAYS_NEAR = 1_000  # leads, days by which, follow-ups by days
# The same of upkeep: longer is not wrong as a fact, but no rule of a rig has it.
_LONGEST_DAYS = 1_000
_LONGEST_MONTHS = 240

DISTANCE_UNITS = ("mi", "km")


def inner(fields: Fields, key: str) -> Fields:
    """The object below a key."""
    return Fields(fields.take(key), fields.at(key))


def number_data(value: Decimal) -> int | float:
    return int(value) if value == int(value) else float(value)


# --- lengths of time -----------------------------------------------------------------


def span(found: Fields) -> Span:
    kind = found.one_of(tuple(MOST_TIME), "a length of time")
    value = as_count(found.take(kind), found.at(kind), 1, MOST_TIME[kind], kind)
    if kind == "days":
        return Span(days=value)
    return Span(months=value * 12 if kind == "years" else value)


def span_data(length: Span) -> dict[str, object]:
    return {"days": length.days} if length.days else {"months": length.months}


def days_near(found: Fields, key: str, default: int) -> int:
    value = found.get(key)
    if value is None:
        return default
    return as_count(value, found.at(key), 0, MOST_DAYS_NEAR, "days")


def too_long(length: Span) -> str | None:
    """Why no piece of upkeep waits so long, or None."""
    if length.days > _LONGEST_DAYS:
        return f"{length.days} days is too long: enter it in months or years"
    if length.months > _LONGEST_MONTHS:
        return f"{length.months} months is longer than any part lasts"
    return None


def per_year(length: Span, days: Decimal = DAYS) -> Decimal:
    """How often a length fits into a year of so many days."""
    return Decimal(12) / length.months if length.months else days / length.days


# --- meters --------------------------------------------------------------------------


def meter_interval(found: Fields, kind: str) -> Decimal:
    unit = "h" if kind == "hours" else "mi or km"
    return as_amount(found.take(kind), found.at(kind), 1, MOST[kind], unit)


def meter_and_unit(found: Fields, kind: str, units: Units | None) -> tuple[str, Unit]:
    """The meter a trigger counts on, and the unit of the trigger's own figures."""
    meter = as_text(found.take("meter"), found.at("meter"))
    own = None if units is None else units.get(meter)
    if units is not None and own is None:
        has = ", ".join(units) or "none"
        raise FactError(found.at("meter"), f'the rig has no "{meter}"; it has {has}')
    fitting = ("h",) if kind == "hours" else DISTANCE_UNITS
    if own is not None and own not in fitting:
        raise FactError(found.at(kind), f'"{meter}" counts in {own}')
    given = found.get("unit") or ("h" if kind == "hours" else own)
    if given is None:
        raise FactError(found.place, 'needs "unit": mi or km')
    return meter, cast(Unit, as_choice(given, found.at("unit"), fitting))


# --- what stands in the stead of the usual interval ----------------------------------


def replacing(fields: Fields, name: str, read: Callable[[Fields], T]) -> T | None:
    """`first` or `severe`, where it is given."""
    if not fields.has(name):
        fields.get(name)
        return None
    found = inner(fields, name)
    value = read(found)
    found.finish()
    return value
