"""Values of facts as words: days, lengths of time, meters and what they show."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from maintenance.core.facts import Fact, FactValue, Span
from maintenance.core.units import show_number
from maintenance.core.words import counted
from maintenance.ui.words import day_words, month_day_words

Shown = Mapping[str, str]

METERS = {
    "odometer": "the odometer",
    "engine": "engine hours",
    "generator": "generator hours",
    "towed": "towed distance",
    "wheel_distance": "odometer and towed distance together",
}


def value_in_words(value: FactValue, as_of: date | None) -> str:
    if isinstance(value, date):
        return day_in_words(value, as_of)
    if isinstance(value, Decimal):
        return show_number(value)
    if isinstance(value, tuple):
        return ", ".join(value)
    return "" if value is None else str(value)


def day_in_words(day: date, as_of: date | None = None) -> str:
    """`May 1`, or `May 1, 2026` when that is not the year of `as_of`."""
    same_year = as_of and as_of.year == day.year
    return month_day_words(day) if same_year else day_words(day)


def meter_in_words(name: str) -> str:
    return METERS.get(name, name)


def days_in_words(count: int) -> str:
    return counted(count, "day")


def months_in_words(count: int) -> str:
    if count % 12 == 0:
        years = count // 12
        return counted(years, "year")
    return counted(count, "month")


def span_in_words(span: Span) -> str:
    return months_in_words(span.months) if span.months else days_in_words(span.days)


def whole(fact: Fact, name: str) -> int:
    value = fact.values[name]
    return value if isinstance(value, int) else 0


def at_figure(fact: Fact, shown: Shown) -> str:
    """ " at 42,310 mi", with what is estimated named so."""
    if not shown.get("value"):
        return ""
    if fact.values.get("estimated"):
        return f" at {shown['value']} {shown['unit']} (estimated from the readings)"
    return f" at {shown['value']} {shown['unit']}"


def interval_sentence(fact: Fact, interval: str) -> str:
    cause = fact.values.get("cause")
    if cause == "first":
        return f"First time after {interval}."
    if cause == "severe":
        text = "Every %(interval)s, because the rig was in severe duty."
        return text % {"interval": interval}
    return f"Every {interval}."
