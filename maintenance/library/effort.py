"""How often a year a rule asks, and so how many minutes an item costs.

An estimate to choose by, not a forecast: it takes a year's use as given.
"""

from collections.abc import Iterable
from decimal import Decimal

from maintenance.core.triggers import Kind
from maintenance.core.triggers.kind import DAYS, NEVER, YearOfUse

__all__ = ["DAYS", "YearOfUse", "follows_events_only", "times_a_year"]


def times_a_year(rules: Iterable[Kind], year: YearOfUse) -> Decimal:
    """How often a year they ask for the work.

    Of rules that count on (by meter, time or life) the most frequent holds, for each
    completion sets them all back. Occasions (seasons, stays, trips) add up. The greater
    of the two holds. What follows an event is not counted.
    """
    rates, occasions = [NEVER], NEVER
    for rule in rules:
        if rule.hangs_on == "occasion":
            occasions += rule.times_a_year(year)
        else:
            rates.append(rule.times_a_year(year))
    return max(occasions, *rates)


def follows_events_only(rules: Iterable[Kind]) -> bool:
    rules = list(rules)
    return bool(rules) and all(rule.hangs_on == "event" for rule in rules)
