"""Triggers as plain data, in the form of case files and of the procedure library."""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Literal, TypeVar, cast

from maintenance.core.facts import (
    After,
    BeforeTrip,
    EveryMeter,
    EveryTime,
    FactError,
    Life,
    Season,
    Span,
    StorageEntry,
    StorageExit,
    Trigger,
    Unit,
    WhileStored,
)
from maintenance.core.fields import (
    Fields,
    as_amount,
    as_choice,
    as_count,
    as_day,
    as_flag,
    as_list,
    as_text,
)

EVENT_KINDS = frozenset(
    {
        "alarm_sounded",
        "battery_disconnected",
        "battery_replaced",
        "bearing_work",
        "brake_work",
        "collision",
        "coupled",
        "curb_strike",
        "cylinder_swapped",
        "dust",
        "extinguisher_used",
        "flood",
        "freeze",
        "hail",
        "hard_stop",
        "long_drive",
        "new_wheel",
        "propane_opened",
        "roof_work",
        "tank_emptied",
        "tire_replaced",
        "water_contaminated",
        "wheel_off",
    }
)

T = TypeVar("T")
Units = Mapping[str, Unit]  # meter name -> its unit

# Our own bounds, wide on purpose: they catch a slip, not an opinion.
_MOST = {"distance": 1_000_000, "hours": 100_000}
_MOST_TIME = {"days": 36_525, "months": 1_200, "years": 100}
_MOST_DAYS_NEAR = 1_000  # leads, days by which, follow-ups by days
_MOST_FOLLOW_UP = 100_000
_MONTH = re.compile(r"\d{4}-\d{2}")
_DISTANCE_UNITS = ("mi", "km")


def parse_triggers(
    data: list[object], place: str, *, units: Units | None = None
) -> tuple[Trigger, ...]:
    """Triggers from plain data in the form of design section 4.4.

    `place` names where the list stands, for the message. With `units` (the rig's
    meters), a meter that the rig does not have is refused and a missing `unit` is the
    meter's own. Raises `FactError`: unknown key, event kind or unit; a value that is
    missing, of the wrong kind, or outside the plausible range, which it states.
    """
    found = enumerate(as_list(data, place))
    return tuple(_trigger(one, f"{place}[{i}]", units) for i, one in found)


def _trigger(data: object, place: str, units: Units | None) -> Trigger:
    fields = Fields(data, place)
    for known in (*_READERS, "first", "severe", "clock"):
        fields.get(known)
    fields.finish()
    kind = fields.one_of(tuple(_READERS), "a rule")
    fields = Fields(data, place)
    found = _READERS[kind](fields, units)
    fields.finish()
    return found


def _inner(fields: Fields, key: str) -> Fields:
    return Fields(fields.take(key), fields.at(key))


# --- every -----------------------------------------------------------------------


def _every(fields: Fields, units: Units | None) -> EveryMeter | EveryTime:
    inner = _inner(fields, "every")
    kind = inner.one_of((*_MOST, *_MOST_TIME), "an interval")
    if kind in _MOST:
        return _every_meter(fields, inner, kind, units)
    return _every_time(fields, inner)


def _every_meter(
    fields: Fields, inner: Fields, kind: str, units: Units | None
) -> EveryMeter:
    interval = _meter_interval(inner, kind)
    meter, unit = _meter_and_unit(inner, kind, units)
    inner.finish()
    first, severe = (
        _replacing(fields, name, lambda one: _meter_interval(one, kind))
        for name in ("first", "severe")
    )
    return EveryMeter(meter, unit, interval, first, severe)


def _meter_interval(inner: Fields, kind: str) -> Decimal:
    unit = "h" if kind == "hours" else "mi or km"
    return as_amount(inner.take(kind), inner.at(kind), 1, _MOST[kind], unit)


def _meter_and_unit(inner: Fields, kind: str, units: Units | None) -> tuple[str, Unit]:
    """The meter a trigger counts on, and the unit of the trigger's own figures."""
    meter = as_text(inner.take("meter"), inner.at("meter"))
    own = None if units is None else units.get(meter)
    if units is not None and own is None:
        has = ", ".join(units) or "none"
        raise FactError(inner.at("meter"), f'the rig has no "{meter}"; it has {has}')
    fitting = ("h",) if kind == "hours" else _DISTANCE_UNITS
    if own is not None and own not in fitting:
        raise FactError(inner.at(kind), f'"{meter}" counts in {own}')
    given = inner.get("unit") or ("h" if kind == "hours" else own)
    if given is None:
        raise FactError(inner.place, 'needs "unit": mi or km')
    return meter, cast(Unit, as_choice(given, inner.at("unit"), fitting))


def _every_time(fields: Fields, inner: Fields) -> EveryTime:
    interval = _span(inner)
    clock = fields.get("clock") or "calendar"
    in_use = as_choice(clock, fields.at("clock"), ("calendar", "in_use")) == "in_use"
    first = _replacing(fields, "first", _span)
    severe = _replacing(fields, "severe", _span)
    inner.finish()
    if in_use and any(span.months for span in (interval, first, severe) if span):
        raise FactError(fields.at("clock"), "in_use counts days: give them in days")
    return EveryTime(interval, first, severe, in_use)


def _span(inner: Fields) -> Span:
    kind = inner.one_of(tuple(_MOST_TIME), "a length of time")
    value = as_count(inner.take(kind), inner.at(kind), 1, _MOST_TIME[kind], kind)
    if kind == "days":
        return Span(days=value)
    return Span(months=value * 12 if kind == "years" else value)


def _replacing(fields: Fields, name: str, read: Callable[[Fields], T]) -> T | None:
    if not fields.has(name):
        fields.get(name)
        return None
    inner = _inner(fields, name)
    found = read(inner)
    inner.finish()
    return found


# --- seasons, stays, trips -----------------------------------------------------------


def _season(fields: Fields, _units: Units | None) -> Season:
    name = as_choice(fields.take("season"), fields.at("season"), ("spring", "autumn"))
    return Season(cast(Literal["spring", "autumn"], name))


def _near(inner: Fields, key: str, default: int) -> int:
    value = inner.get(key)
    if value is None:
        return default
    return as_count(value, inner.at(key), 0, _MOST_DAYS_NEAR, "days")


def _storage_entry(fields: Fields, _units: Units | None) -> StorageEntry:
    inner = _inner(fields, "storage_entry")
    found = StorageEntry(_near(inner, "by_day", 0), _near(inner, "lead", 7))
    inner.finish()
    return found


def _while_stored(fields: Fields, _units: Units | None) -> WhileStored:
    inner = _inner(fields, "while_stored")
    days = as_count(inner.take("days"), inner.at("days"), 1, _MOST_DAYS_NEAR, "days")
    dry = inner.get("unless_winterized")
    unless = dry is not None and as_flag(dry, inner.at("unless_winterized"))
    inner.finish()
    return WhileStored(days, unless)


def _storage_exit(fields: Fields, _units: Units | None) -> StorageExit:
    _inner(fields, "storage_exit").finish()
    return StorageExit()


def _before_trip(fields: Fields, _units: Units | None) -> BeforeTrip:
    inner = _inner(fields, "before_trip")
    found = BeforeTrip(_near(inner, "lead", 3))
    inner.finish()
    return found


# --- after an event ------------------------------------------------------------------


def _after(fields: Fields, units: Units | None) -> After:
    inner = _inner(fields, "after")
    event = as_choice(inner.take("event"), inner.at("event"), EVENT_KINDS)
    kind = inner.one_of(("distance", "days"), "a window")
    checks = _checks(inner, kind)
    meter, unit = None, None
    if kind == "distance":
        meter, unit = _meter_and_unit(inner, kind, units)
    inner.finish()
    return After(event, checks, meter, unit)


def _checks(inner: Fields, kind: str) -> tuple[tuple[Decimal, Decimal], ...]:
    place = inner.at(kind)
    pairs = as_list(inner.take(kind), place)
    if not pairs:
        raise FactError(place, "must be [least, most] or a list of such pairs")
    if not isinstance(pairs[0], list):
        return (_check(pairs, place, kind),)
    return tuple(_check(pair, f"{place}[{i}]", kind) for i, pair in enumerate(pairs))


def _check(pair: object, place: str, kind: str) -> tuple[Decimal, Decimal]:
    ends = as_list(pair, place)
    if len(ends) != 2:
        raise FactError(place, "must be a pair [least, most]")
    if kind == "days":
        least, most = (
            Decimal(as_count(end, place, 0, _MOST_DAYS_NEAR, "days")) for end in ends
        )
    else:
        least, most = (
            as_amount(end, place, 0, _MOST_FOLLOW_UP, "mi or km") for end in ends
        )
    if most < least or (kind == "distance" and most == 0):
        raise FactError(place, "must be [least, most], the second the greater")
    return least, most


# --- life ------------------------------------------------------------------------


def _life(fields: Fields, _units: Units | None) -> Life:
    inner = _inner(fields, "life")
    kind = inner.one_of(("years", "months"), "a length of time")
    length = _span(inner)
    for other in _MOST_TIME:
        if other != kind:
            inner.get(other)
    start = inner.get("from")
    inner.finish()
    if start is None:
        return Life(length, None)
    if isinstance(start, str) and _MONTH.fullmatch(start):
        return Life(length, as_day(f"{start}-01", inner.at("from")), month_only=True)
    if isinstance(start, str) and len(start) < 10:
        raise FactError(inner.at("from"), "must be a day or a month like 2015-04")
    return Life(length, as_day(start, inner.at("from")))


_READERS: dict[str, Callable[[Fields, Units | None], Trigger]] = {
    "every": _every,
    "season": _season,
    "storage_entry": _storage_entry,
    "while_stored": _while_stored,
    "storage_exit": _storage_exit,
    "after": _after,
    "before_trip": _before_trip,
    "life": _life,
}
