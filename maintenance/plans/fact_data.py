"""Facts behind a standing, to and from a JSON column, with their types kept."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.core.facts import Fact


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
