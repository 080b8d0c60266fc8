"""Readings of a rig whose use per day is laid down, for the tests of the forecast."""

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.facts import Dates

Readings = list[tuple[date, Decimal]]

NEVER = date.max


def drive(
    start: date, end: date, per_day: Callable[[date], float], *, every: int = 14
) -> Readings:
    """A reading every so many days from `start`, and one on `end`."""
    value, on, readings = 1000.0, start, [(start, Decimal(1000))]
    while on < end:
        on += timedelta(days=1)
        value += per_day(on)
        if (on - start).days % every == 0 or on == end:
            readings.append((on, Decimal(round(value))))
    return readings


def steady(
    end: date, *, days: int = 730, per_day: float = 20, every: int = 14
) -> Readings:
    return drive(end - timedelta(days=days), end, lambda _on: per_day, every=every)


def only_in(months: Sequence[int], per_day: float) -> Callable[[date], float]:
    return lambda on: per_day if on.month in months else 0.0


def in_order(dates: Dates) -> list[date]:
    """Early, likely, late; never comes after every date."""
    return [day or NEVER for day in (dates.early, dates.likely, dates.late)]


def ahead(dates: Dates, as_of: date) -> list[int]:
    """Days from `as_of` to early, likely and late, all of which must be dates."""
    return [
        (day - as_of).days for day in (dates.early, dates.likely, dates.late) if day
    ]
