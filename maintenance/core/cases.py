"""Case files: one rig and its household on a day, as plain data."""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from typing import Literal, TypeVar, cast

from maintenance.core.checks import check_rig
from maintenance.core.dates import MonthDay
from maintenance.core.facts import (
    ODOMETER,
    TOW_ODOMETER,
    UNHITCHED,
    Baseline,
    Calendar,
    Completion,
    Duty,
    Event,
    FactError,
    Item,
    Meter,
    NotTowed,
    Outcome,
    Reading,
    Replacement,
    Rig,
    Run,
    Stay,
    TowVehicle,
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
    units = Rig(meters, ()).units
    service = fields.get("in_service")
    distance: Unit = next((unit for unit in units.values() if unit != "h"), "mi")
    tows = fields.get("tow_vehicles") or {}
    towing = _tow_vehicles(Fields(tows, fields.at("tow_vehicles")))
    drives = ODOMETER in meters
    found = Rig(
        meters=meters,
        items=_each(fields, "items", lambda one: _item(one, units), needed=True),
        in_service=None
        if service is None
        else _baseline(Fields(service, fields.at("in_service")), units),
        duty=_each(fields, "duty", _duty),
        stays=_each(fields, "stays", _stay),
        trips=_each(fields, "trips", lambda one: _trip(one, distance, towing, drives)),
        events=_each(fields, "events", lambda one: _event(one, units)),
        tow_vehicles=towing,
        places=_names(fields, "places"),
        not_towed=_not_towed(fields),
    )
    fields.finish()
    _refuse_strange_places(found, fields)
    keys = [item.key for item in found.items]
    for i, key in enumerate(keys):
        if key in keys[:i]:
            raise FactError(fields.at(f"items[{i}].key"), f'"{key}" is there twice')
    return found


def _names(fields: Fields, key: str) -> tuple[str, ...]:
    place = fields.at(key)
    names = [as_text(one, place) for one in as_list(fields.get(key) or [], place)]
    if len(set(names)) < len(names):
        raise FactError(place, "names a place twice")
    return tuple(names)


def _refuse_strange_places(rig: Rig, fields: Fields) -> None:
    """A rig that says its places has no others."""
    named = [(f"events[{i}]", one.places) for i, one in enumerate(rig.events)]
    for i, item in enumerate(rig.items):
        done = enumerate(item.done)
        named += [(f"items[{i}].done[{j}]", one.places) for j, one in done]
    for where, places in named:
        strange = sorted((places or frozenset()) - set(rig.places))
        if rig.places and strange:
            has = ", ".join(rig.places)
            problem = f'the rig has no place "{strange[0]}"; it has {has}'
            raise FactError(fields.at(f"{where}.places"), problem)


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


def _meter(fields: Fields, *, usual: str | None = None) -> Meter:
    given = fields.take("unit") if usual is None else fields.get("unit") or usual
    unit = as_choice(given, fields.at("unit"), ("mi", "km", "h"))
    place = fields.at("readings")
    readings = as_list(fields.get("readings") or [], place)
    found = Meter(
        cast(Unit, unit),
        tuple(_reading(one, f"{place}[{i}]") for i, one in enumerate(readings)),
        _each(fields, "replaced", _replacement),
        fitted=_fitted(fields),
        runs=_runs(fields, unit),
    )
    fields.finish()
    return found


def _fitted(fields: Fields) -> Reading | None:
    if not fields.has("fitted"):
        fields.get("fitted")
        return None
    given = Fields(fields.take("fitted"), fields.at("fitted"))
    on = as_day(given.take("on"), given.at("on"))
    value = _shown(given.take("value"), given.at("value"))
    given.finish()
    return Reading(on, value, confirmed=True)


def _runs(fields: Fields, unit: str) -> tuple[Run, ...] | None:
    """Of one day no more than it has hours."""
    value, place = fields.get("runs"), fields.at("runs")
    if value is None:
        return None
    if unit != "h":
        raise FactError(place, f"runs are logged in h, and this meter counts in {unit}")
    found: list[Run] = []
    for i, one in enumerate(as_list(value, place)):
        pair = as_list(one, f"{place}[{i}]")
        if len(pair) != 2:
            raise FactError(f"{place}[{i}]", "must be [day, hours run]")
        on = as_day(pair[0], f"{place}[{i}]")
        before = sum((run.hours for run in found if run.on == on), Decimal(0))
        hours = as_amount(pair[1], f"{place}[{i}]", 0, 24, "h")
        if before + hours > 24:
            raise FactError(f"{place}[{i}]", f"{before + hours} h on {on}, of 24")
        found.append(Run(on, hours))
    return tuple(found)


def _tow_vehicles(fields: Fields) -> dict[str, TowVehicle]:
    return {
        name: _tow_vehicle(Fields(fields.take(name), fields.at(name)))
        for name in fields.names()
    }


def _tow_vehicle(fields: Fields) -> TowVehicle:
    stays = _each(fields, "stays", _stay)
    return TowVehicle(_meter(fields, usual="mi"), stays)


def _not_towed(fields: Fields) -> tuple[NotTowed, ...]:
    place = fields.at("not_towed")
    pairs = _days(fields.get("not_towed"), place, "[said on, since]")
    for i, (said_on, since) in enumerate(pairs):
        if since > said_on:
            raise FactError(f"{place}[{i}]", f"{since} is after {said_on}")
    return tuple(NotTowed(*pair) for pair in pairs)


def _days(value: object, place: str, what: str) -> list[tuple[date, date]]:
    found = []
    for i, one in enumerate(as_list(value or [], place)):
        pair = as_list(one, f"{place}[{i}]")
        if len(pair) != 2:
            raise FactError(f"{place}[{i}]", f"must be {what}")
        first, second = (as_day(end, f"{place}[{i}]") for end in pair)
        found.append((first, second))
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
    winterized, freezes = (
        fields.has(name) and as_flag(fields.take(name), fields.at(name))
        for name in ("winterized", "freezes")
    )
    return Stay(start, until, planned, winterized, freezes)


def _trip(
    fields: Fields, usual: Unit, towing: Mapping[str, TowVehicle], drives: bool
) -> Trip:
    start, end = _from_to(fields)
    if end is None:
        raise FactError(fields.place, 'needs "to"')
    tow = fields.get("tow")
    name = "" if tow is None else as_text(tow, fields.at("tow"))
    own = towing[name].odometer.unit if name in towing else usual
    off = _distance(fields, "off")
    return Trip(
        start,
        end,
        _distance(fields, "distance"),
        _distance_unit(fields, "unit", usual),
        name,
        _odometer(fields, towing.get(name)),
        _distance_unit(fields, "odometer_unit", own),
        only_towed=drives and bool(name),
        off=Decimal(0) if off is None else off,
        told=_told(fields, start, end),
        planned=_flag(fields, "planned"),
    )


def _distance(fields: Fields, key: str) -> Decimal | None:
    value, place = fields.get(key), fields.at(key)
    return None if value is None else as_amount(value, place, 0, 100_000, "mi, km")


def _told(fields: Fields, start: date, end: date) -> tuple[tuple[date, Decimal], ...]:
    place, found = fields.at("told"), []
    for i, one in enumerate(as_list(fields.get("told") or [], place)):
        pair = as_list(one, f"{place}[{i}]")
        if len(pair) != 2:
            raise FactError(f"{place}[{i}]", "must be [day, distance so far]")
        on = as_day(pair[0], f"{place}[{i}]")
        if not start <= on <= end:
            raise FactError(f"{place}[{i}]", f"{on} is not a day of the trip")
        gone = as_amount(pair[1], f"{place}[{i}]", 0, 100_000, "mi, km")
        found.append((on, gone))
    return tuple(found)


def _distance_unit(fields: Fields, key: str, usual: Unit) -> Unit:
    given = fields.get(key) or usual
    return cast(Unit, as_choice(given, fields.at(key), ("mi", "km")))


def _odometer(fields: Fields, tow: TowVehicle | None) -> tuple[Decimal, Decimal] | None:
    """The second may be the lower where the odometer was replaced."""
    value, place = fields.get("odometer"), fields.at("odometer")
    if value is None:
        return None
    ends = [_shown(end, place) for end in as_list(value, place)]
    whole = tow is None or not tow.odometer.replaced
    if len(ends) != 2 or (whole and ends[1] < ends[0]):
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
    if _flag(fields, UNHITCHED):
        found[UNHITCHED] = Decimal(1)
    for name in (*units, TOW_ODOMETER):
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
        per_place=_per_place(fields),
        renewed_by=_renewed_by(fields),
    )


def _renewed_by(fields: Fields) -> str:
    kind = fields.get("renewed_by")
    if kind is None:
        return ""
    return as_choice(kind, fields.at("renewed_by"), EVENT_KINDS)


def _per_place(fields: Fields) -> bool:
    per = fields.get("per")
    return per is not None and as_choice(per, fields.at("per"), ("place",)) == "place"


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
