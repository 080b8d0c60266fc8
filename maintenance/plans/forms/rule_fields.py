"""Rules as the fields of the rules form have them."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from maintenance.core import facts


def plain_number(value: Decimal | int) -> int | float:
    return int(value) if value == int(value) else float(value)


def fields_of(rules: tuple[facts.Trigger, ...]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    events = 0
    for rule in rules:
        if isinstance(rule, facts.After):
            found |= _after_fields(rule, events)
            events += 1
        else:
            found |= FIELDS[type(rule)](rule)
    return found


def _meter_fields(rule: facts.EveryMeter) -> dict[str, Any]:
    values = {"every": rule.interval, "severe": rule.severe, "first": rule.first}
    return {
        f"{rule.meter}_{name}": None if value is None else plain_number(value)
        for name, value in values.items()
    }


def _time_fields(rule: facts.EveryTime) -> dict[str, Any]:
    spans = {"every": rule.interval, "every_severe": rule.severe}
    spans["every_first"] = rule.first
    given = [span for span in spans.values() if span]
    unit = "days" if rule.interval.days else "months"
    if unit == "months" and all(span.months % 12 == 0 for span in given):
        unit = "years"
    sizes = {"days": 1, "months": 1, "years": 12}
    numbers = {
        name: (span.days or span.months) // sizes[unit] if span else None
        for name, span in spans.items()
    }
    return {**numbers, "every_unit": unit, "in_use": rule.in_use}


def _after_fields(rule: facts.After, number: int) -> dict[str, Any]:
    pairs = [f"{low.normalize():f}-{high.normalize():f}" for low, high in rule.checks]
    return {
        f"event{number}": rule.event,
        f"between{number}": ", ".join(pairs),
        f"between_unit{number}": rule.unit or "days",
    }


def _life_fields(rule: facts.Life) -> dict[str, Any]:
    years = rule.length.months % 12 == 0
    start = rule.start.isoformat()[: 7 if rule.month_only else 10] if rule.start else ""
    return {
        "life": rule.length.months // 12 if years else rule.length.months,
        "life_unit": "years" if years else "months",
        "life_from": start,
    }


def _season_fields(rule: facts.Season) -> dict[str, Any]:
    return {rule.name: True}


def _entry_fields(rule: facts.StorageEntry) -> dict[str, Any]:
    by_day = rule.by_day or None
    return {"storage_entry": True, "by_day": by_day, "entry_lead": rule.lead}


def _stored_fields(rule: facts.WhileStored) -> dict[str, Any]:
    return {"while_stored": rule.days, "unless_winterized": rule.unless_winterized}


def _exit_fields(_rule: facts.StorageExit) -> dict[str, Any]:
    return {"storage_exit": True}


def _trip_fields(rule: facts.BeforeTrip) -> dict[str, Any]:
    return {"before_trip": True, "trip_lead": rule.lead}


FIELDS: Mapping[type, Callable[[Any], dict[str, Any]]] = {
    facts.EveryMeter: _meter_fields,
    facts.EveryTime: _time_fields,
    facts.Season: _season_fields,
    facts.StorageEntry: _entry_fields,
    facts.WhileStored: _stored_fields,
    facts.StorageExit: _exit_fields,
    facts.BeforeTrip: _trip_fields,
    facts.Life: _life_fields,
}
