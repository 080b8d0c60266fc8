"""Facts behind a standing, to and from a JSON column, with their types kept."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.core.facts import Fact

# Facts that count days, to or from the day of the reckoning.
DAYS_COUNTED = {"over_by_days": 1, "left_days": -1, "opens_in_days": -1}


def facts_to_data(facts: Iterable[Fact]) -> list[list[Any]]:
    return [
        [fact.key, {name: _plain(value) for name, value in fact.values.items()}]
        for fact in facts
    ]


def facts_from_data(data: Iterable[list[Any]]) -> list[Fact]:
    return [
        Fact(key, {name: _typed(value) for name, value in values.items()})
        for key, values in data
    ]


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return {"day": value.isoformat()}
    if isinstance(value, Decimal):
        return {"number": str(value)}
    if isinstance(value, tuple):
        return list(value)
    return value


def _typed(value: Any) -> Any:
    if isinstance(value, dict):
        if "day" in value:
            return date.fromisoformat(value["day"])
        return Decimal(value["number"])
    if isinstance(value, list):
        return tuple(value)
    return value


def counted_on(data: Iterable[list[Any]], since: date, today: date) -> list[list[Any]]:
    """The facts of a reckoning of the day `since`, their days counted from `today`: a
    standing is reckoned and stored anew only when more than that has changed."""
    gone = (today - since).days
    return [
        [key, values | {"days": values["days"] + DAYS_COUNTED[key] * gone}]
        if key in DAYS_COUNTED
        else [key, values]
        for key, values in data
    ]
