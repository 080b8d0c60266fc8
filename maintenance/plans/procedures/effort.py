"""How often a year a rule asks, and so how many minutes an item costs.

An estimate to choose by, not a forecast: it takes a year's use as given.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import cast

from maintenance.core.facts import (
    After,
    BeforeTrip,
    EveryMeter,
    EveryTime,
    Life,
    Season,
    Span,
    StorageEntry,
    StorageExit,
    Trigger,
    Unit,
    WhileStored,
)
from maintenance.core.units import convert

DAYS = Decimal("365.25")  # of a year, as the Julian year has them
NONE = Decimal(0)


@dataclass(frozen=True, slots=True)
class YearOfUse:
    """A year of a rig: what each meter counts in it, in the meter's unit, the days of
    its one stay, and its trips."""

    units: Mapping[str, str]
    counts: Mapping[str, Decimal] = field(default_factory=dict)
    stored_days: int = 150
    trips: int = 4


def times_a_year(rules: Iterable[Trigger], year: YearOfUse) -> Decimal:
    """How often a year they ask for the work.

    Of rules that count on (by meter, time or life) the most frequent holds, for each
    completion sets them all back. Occasions (seasons, stays, trips) add up. The greater
    of the two holds. What follows an event is not counted.
    """
    rules = list(rules)
    rates = [_rate(rule, year) for rule in rules]
    occasions = sum((_occasions(rule, year) for rule in rules), NONE)
    return max([occasions, *rates])


def follows_events_only(rules: Iterable[Trigger]) -> bool:
    rules = list(rules)
    return bool(rules) and all(isinstance(rule, After) for rule in rules)


def _rate(rule: Trigger, year: YearOfUse) -> Decimal:
    if isinstance(rule, EveryMeter):
        unit = cast(Unit, year.units.get(rule.meter, rule.unit))
        counted = year.counts.get(rule.meter, NONE)
        return convert(counted, unit, rule.unit) / rule.interval
    if isinstance(rule, EveryTime):
        days = DAYS - year.stored_days if rule.in_use else DAYS
        return _per_year(rule.interval, days)
    return _per_year(rule.length, DAYS) if isinstance(rule, Life) else NONE


def _per_year(span: Span, days: Decimal) -> Decimal:
    return Decimal(12) / span.months if span.months else days / span.days


def _occasions(rule: Trigger, year: YearOfUse) -> Decimal:
    match rule:
        case Season() | StorageExit():
            return Decimal(1)
        case StorageEntry(by_day=days):
            return Decimal(1 if days <= year.stored_days else 0)
        case WhileStored(days=days):
            return Decimal(year.stored_days // days)
        case BeforeTrip():
            return Decimal(year.trips)
    return NONE
