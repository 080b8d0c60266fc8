"""Case files: one rig and its household on a day, as plain data."""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from typing import Literal, TypeVar, cast

from maintenance.core.checks import check_rig
from maintenance.core.dates import MonthDay
from maintenance.core.facts import (
    Baseline,
    Calendar,
    Completion,
    Duty,
    Event,
    FactError,
    Item,
    Meter,
    Outcome,
    Reading,
    Replacement,
    Rig,
    Stay,
    Trip,
    Unit,
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
from maintenance.core.triggers import EVENT_KINDS, parse_triggers

OUTCOMES = ("done", "serviceable", "held", "moved", "fault_found", "not_done")
MOST_SHOWN = 99_999_999  # what any meter can show
Units = Mapping[str, Unit]
T = TypeVar("T")


def parse_case(data: object, place: str) -> tuple[Rig, Calendar, date]:
    """A case of design section 4.4 as facts.

    `place` is put before every place that a refusal names ("" for none). Raises
    `FactError`: an unknown key, a value of the wrong kind or range, a trigger on a
    meter that the rig does not have, a day after `as_of` where none may be.
    """
    top = Fields(data, place)
    as_of = as_day(top.take("as_of"), top.at("as_of"))
    calendar = _calendar(top)
    rig = _rig(Fields(top.take("rig"), top.at("rig")))
    top.finish()
    check_rig(rig, as_of, top.at("rig"))
    return rig, calendar, as_of


# --- the household -------------------------------------------------------------------


def _calendar(top: Fields) -> Calendar:
    usual = Calendar()
    fields = Fields(top.get("household") or {}, top.at("household"))
    zone = fields.get("timezone")
    horizon = fields.get("horizon_days")
    place = fields.at("horizon_days")
    seasons = Fields(fields.get("seasons") or {}, fields.at("seasons"))
    found = Calendar(
        usual.timezone if zone is None else as_text(zone, fields.at("timezone")),
        usual.horizon_days
        if horizon is None
        else as_count(horizon, place, 0, 366, "days"),
        _season(seasons, "spring", usual.spring),
        _season(seasons, "autumn", usual.autumn),
    )
    seasons.finish()
    fields.finish()
    return found


def _season(
    fields: Fields, name: str, usual: tuple[MonthDay, MonthDay]
) -> tuple[MonthDay, MonthDay]:
    value, place = fields.get(name), fields.at(name)
    if value is None:
        return usual
    ends = as_list(value, place)
    if len(ends) != 2:
        raise FactError(place, "must be [first day, last day] like 03-15")
    opens, closes = (_month_day(end, place) for end in ends)
    return opens, closes


def _month_day(value: object, place: str) -> MonthDay:
    text = as_text(value, place)
    try:
        day = date.fromisoformat(f"2024-{text}")  # a leap year
    except ValueError:
        raise FactError(place, f'"{value}" is not a day like 03-15') from None
    return day.month, day.day


# --- the rig -------------------------------------------------------------------------


def _rig(fields: Fields) -> Rig:
    meters = _meters(Fields(fields.take("meters"), fields.at("meters")))
    units = {name: meter.unit for name, meter in meters.items()}
    service = fields.get("in_service")
    distance: Unit = next((unit for unit in units.values() if unit != "h"), "mi")
    found = Rig(
        meters=meters,
        items=_each(fields, "items", lambda one: _item(one, units), needed=True),
        in_service=None
        if service is None
        else _baseline(Fields(service, fields.at("in_service")), units),
        duty=_each(fields, "duty", _duty),
        stays=_each(fields, "stays", _stay),
        trips=_each(fields, "trips", lambda one: _trip(one, distance)),
        events=_each(fields, "events", lambda one: _event(one, units)),
    )
    fields.finish()
    keys = [item.key for item in found.items]
    for i, key in enumerate(keys):
        if key in keys[:i]:
            raise FactError(fields.at(f"items[{i}].key"), f'"{key}" is there twice')
    return found


def _each(
    fields: Fields, key: str, read: Callable[[Fields], T], *, needed: bool = False
) -> tuple[T, ...]:
    value = fields.take(key) if needed else fields.get(key)
    if value is None:
        return ()
    found = []
    for i, one in enumerate(as_list(value, fields.at(key))):
        inner = Fields(one, fields.at(f"{key}[{i}]"))
        found.append(read(inner))
        inner.finish()
    return tuple(found)


def _meters(fields: Fields) -> dict[str, Meter]:
    return {
        name: _meter(Fields(fields.take(name), fields.at(name)))
        for name in fields.names()
    }


def _meter(fields: Fields) -> Meter:
    unit = as_choice(fields.take("unit"), fields.at("unit"), ("mi", "km", "h"))
    place = fields.at("readings")
    readings = as_list(fields.get("readings") or [], place)
    found = Meter(
        cast(Unit, unit),
        tuple(_reading(one, f"{place}[{i}]") for i, one in enumerate(readings)),
        _each(fields, "replaced", _replacement),
    )
    fields.finish()
    return found


def _reading(data: object, place: str) -> Reading:
    parts = as_list(data, place)
    if len(parts) not in (2, 3) or (len(parts) == 3 and parts[2] != "confirmed"):
        raise FactError(place, 'must be [day, value] or [day, value, "confirmed"]')
    return Reading(as_day(parts[0], place), _shown(parts[1], place), len(parts) == 3)


def _shown(value: object, place: str) -> Decimal:
    return as_amount(value, place, 0, MOST_SHOWN, "on a meter")


def _replacement(fields: Fields) -> Replacement:
    return Replacement(
        as_day(fields.take("on"), fields.at("on")),
        _shown(fields.take("old_final"), fields.at("old_final")),
        _shown(fields.take("new_start"), fields.at("new_start")),
    )


def _duty(fields: Fields) -> Duty:
    kind = fields.get("kind")
    if kind is not None:
        as_choice(kind, fields.at("kind"), ("severe",))
    return Duty(*_from_to(fields))


def _from_to(fields: Fields) -> tuple[date, date | None]:
    start = as_day(fields.take("from"), fields.at("from"))
    return start, _day_after(fields, "to", start)


def _day_after(fields: Fields, key: str, start: date) -> date | None:
    value = fields.get(key)
    if value is None:
        return None
    day = as_day(value, fields.at(key))
    if day < start:
        raise FactError(fields.at(key), f"{day} is before {start}")
    return day


def _stay(fields: Fields) -> Stay:
    start, until = _from_to(fields)
    planned = _day_after(fields, "planned_to", start)
    winterized = fields.get("winterized")
    return Stay(
        start,
        until,
        planned,
        winterized is not None and as_flag(winterized, fields.at("winterized")),
    )


def _trip(fields: Fields, usual: Unit) -> Trip:
    start, end = _from_to(fields)
    if end is None:
        raise FactError(fields.place, 'needs "to"')
    distance, place = fields.get("distance"), fields.at("distance")
    tow = fields.get("tow")
    return Trip(
        start,
        end,
        None if distance is None else as_amount(distance, place, 0, 100_000, "mi, km"),
        _distance_unit(fields, "unit", usual),
        "" if tow is None else as_text(tow, fields.at("tow")),
        _odometer(fields),
        _distance_unit(fields, "odometer_unit", usual),
    )


def _distance_unit(fields: Fields, key: str, usual: Unit) -> Unit:
    given = fields.get(key) or usual
    return cast(Unit, as_choice(given, fields.at(key), ("mi", "km")))


def _odometer(fields: Fields) -> tuple[Decimal, Decimal] | None:
    value, place = fields.get("odometer"), fields.at("odometer")
    if value is None:
        return None
    ends = [_shown(end, place) for end in as_list(value, place)]
    if len(ends) != 2 or ends[1] < ends[0]:
        raise FactError(place, "must be [when hitched, when unhitched]")
    return ends[0], ends[1]


def _event(fields: Fields, units: Units) -> Event:
    return Event(
        as_choice(fields.take("kind"), fields.at("kind"), EVENT_KINDS),
        as_day(fields.take("on"), fields.at("on")),
        _values(fields, units),
        _places(fields),
    )


def _values(fields: Fields, units: Units) -> dict[str, Decimal]:
    found = {}
    for name in units:
        value = fields.get(name)
        if value is not None:
            place = fields.at(name)
            # A component may bring along more than its new rig has: below zero.
            found[name] = as_amount(value, place, -MOST_SHOWN, MOST_SHOWN, "on a meter")
    return found


def _places(fields: Fields) -> frozenset[str] | None:
    value, place = fields.get("places"), fields.at("places")
    if value is None:
        return None
    names = frozenset(as_text(one, place) for one in as_list(value, place))
    if not names:
        raise FactError(place, "names no place; leave it out for all places")
    return names


# --- items ---------------------------------------------------------------------------


def _item(fields: Fields, units: Units) -> Item:
    place = fields.at("triggers")
    triggers = as_list(fields.take("triggers"), place)
    taken_on = fields.get("taken_on")
    return Item(
        key=as_text(fields.take("key"), fields.at("key")),
        triggers=parse_triggers(triggers, place, units=units),
        done=_each(fields, "done", lambda one: _completion(one, units)),
        baseline=_item_baseline(fields, units),
        taken_on=None if taken_on is None else as_day(taken_on, fields.at("taken_on")),
        anchored=_flag(fields, "anchored"),
        once=_flag(fields, "once"),
        safety=_flag(fields, "safety"),
        unfit=_flag(fields, "unfit"),
    )


def _flag(fields: Fields, key: str) -> bool:
    value = fields.get(key)
    return value is not None and as_flag(value, fields.at(key))


def _item_baseline(
    fields: Fields, units: Units
) -> Baseline | Literal["in_service"] | None:
    value, place = fields.get("baseline"), fields.at("baseline")
    if value is None:
        return None
    if value == "in_service":
        return "in_service"
    if not isinstance(value, dict):
        raise FactError(place, 'must be "in_service" or a day with readings')
    return _baseline(Fields(value, place), units)


def _baseline(fields: Fields, units: Units) -> Baseline:
    found = Baseline(as_day(fields.take("on"), fields.at("on")), _values(fields, units))
    fields.finish()
    return found


def _completion(fields: Fields, units: Units) -> Completion:
    on, until = _on(fields)
    outcome = as_choice(fields.get("outcome") or "done", fields.at("outcome"), OUTCOMES)
    return Completion(
        on, until, _values(fields, units), cast(Outcome, outcome), _places(fields)
    )


def _on(fields: Fields) -> tuple[date, date | None]:
    """A day, or a span [first day, last day] when the day is not known."""
    value, place = fields.take("on"), fields.at("on")
    if not isinstance(value, list):
        return as_day(value, place), None
    if len(value) != 2:
        raise FactError(place, "must be a day or [first day, last day]")
    first, last = as_day(value[0], place), as_day(value[1], place)
    if last < first:
        raise FactError(place, f"{last} is before {first}")
    return first, last
