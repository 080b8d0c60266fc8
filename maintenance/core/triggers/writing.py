"""Triggers back to plain data, in the form that `parse_triggers` reads."""

from datetime import date
from decimal import Decimal

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
    WhileStored,
)


def trigger_to_data(trigger: Trigger) -> dict[str, object]:
    """The trigger in the form that `parse_triggers` reads; defaults are left out."""
    found: dict[str, object]
    match trigger:
        case EveryMeter():
            found = _every_meter_data(trigger)
        case EveryTime():
            found = _every_time_data(trigger)
        case Season(name):
            found = {"season": name}
        case StorageEntry(by_day, lead):
            found = {"storage_entry": {"by_day": by_day, "lead": lead}}
        case WhileStored(days, unless_winterized):
            dry = {"unless_winterized": True} if unless_winterized else {}
            found = {"while_stored": {"days": days, **dry}}
        case StorageExit():
            found = {"storage_exit": {}}
        case After():
            found = {"after": _after_data(trigger)}
        case BeforeTrip(lead):
            found = {"before_trip": {"lead": lead}}
        case Life():
            found = {"life": _life_data(trigger)}
    return found


def _number(value: Decimal) -> int | float:
    return int(value) if value == int(value) else float(value)


def _every_meter_data(trigger: EveryMeter) -> dict[str, object]:
    kind = "hours" if trigger.unit == "h" else "distance"
    every: dict[str, object] = {kind: _number(trigger.interval)}
    if kind == "distance":
        every["unit"] = trigger.unit
    every["meter"] = trigger.meter
    found: dict[str, object] = {"every": every}
    for name, value in (("first", trigger.first), ("severe", trigger.severe)):
        if value is not None:
            found[name] = {kind: _number(value)}
    return found


def _span_data(span: Span) -> dict[str, object]:
    return {"days": span.days} if span.days else {"months": span.months}


def _every_time_data(trigger: EveryTime) -> dict[str, object]:
    found: dict[str, object] = {"every": _span_data(trigger.interval)}
    if trigger.in_use:
        found["clock"] = "in_use"
    for name, span in (("first", trigger.first), ("severe", trigger.severe)):
        if span is not None:
            found[name] = _span_data(span)
    return found


def _after_data(trigger: After) -> dict[str, object]:
    pairs: list[object] = [
        [_number(low), _number(high)] for low, high in trigger.checks
    ]
    checks = pairs[0] if len(pairs) == 1 else pairs
    if trigger.meter is None:
        return {"event": trigger.event, "days": checks}
    return {
        "event": trigger.event,
        "distance": checks,
        "unit": trigger.unit,
        "meter": trigger.meter,
    }


def _life_data(trigger: Life) -> dict[str, object]:
    found: dict[str, object] = {"months": trigger.length.months}
    start: date | None = trigger.start
    if start is not None:
        found["from"] = start.isoformat()[: 7 if trigger.month_only else 10]
    return found
