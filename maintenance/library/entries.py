"""One entry of a library file, from plain data to a checked value."""

from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal
from typing import Any

from maintenance.components.models import TYPES, ComponentKind
from maintenance.core.facts import FactError
from maintenance.core.fields import (
    Fields,
    as_choice,
    as_count,
    as_flag,
    as_list,
    as_number,
    as_text,
)
from maintenance.core.measured import AMONG, Comparison, Trend
from maintenance.core.triggers import EVENT_KINDS
from maintenance.library import checks
from maintenance.library.model import (
    COMPONENT_DATES,
    EVERY_KIND,
    EVERY_WHO,
    LAP_WHEN,
    MEASURE_PLACES,
    MEASURE_UNITS,
    SOURCE_KINDS,
    STAY_WHEN,
    UNFIT_WHEN,
    Equipment,
    LapLook,
    LapStop,
    Measure,
    OfComponent,
    PlaceLimit,
    Procedure,
    Rule,
    Source,
    Spot,
    StayPlace,
)
from maintenance.vehicles.models import HOUR_METERS, WHEEL_PLACES
from maintenance.vehicles.runways import RUNWAYS

MOST_MINUTES = 1440  # a whole day
MOST_LOOK = 10  # minutes: what takes longer is work for the days before
MOST_YEARS = 20  # no part lives longer
COMPONENT_KINDS = [kind for kind in ComponentKind.values if kind != ComponentKind.OTHER]


def read_equipment(row: object) -> Equipment:
    fields = Fields(row, "")
    equipment = Equipment(
        key=_text(fields, "key"),
        title=_text(fields, "title"),
        phrase=_text(fields, "phrase"),
        group=_text(fields, "group"),
        usual=_choices(fields, "usual", EVERY_KIND),
        usual_from=_year(fields, "usual_from"),
        usual_to=_year(fields, "usual_to"),
        hours=_choice(fields, "hours", HOUR_METERS, default=""),
    )
    fields.finish()
    if (equipment.usual_from or equipment.usual_to) and not equipment.usual:
        raise FactError("usual", "must name the kinds of rig of these years")
    return equipment


def read_spot(row: object, equipment: Collection[str]) -> Spot:
    """Which procedures there are is checked when all of them are read."""
    fields = Fields(row, "")
    spot = Spot(
        key=_text(fields, "key"),
        title=_text(fields, "title"),
        often=_text(fields, "often"),
        procedures=_texts(fields, "procedures"),
        equipment_any=_choices(fields, "equipment_any", equipment),
    )
    fields.finish()
    if not spot.procedures:
        raise FactError("procedures", "must name at least one procedure")
    return spot


def read_stop(row: object) -> LapStop:
    """Which procedures there are is checked when all of them are read."""
    fields = Fields(row, "")
    when = _choice(fields, "when", LAP_WHEN)
    stop = LapStop(
        title=_text(fields, "title"),
        when=when,
        looks=tuple(_read_look(one, when) for one in _inner(fields, "looks")),
    )
    fields.finish()
    if not stop.looks:
        raise FactError("looks", "must name at least one")
    return stop


def read_stay_place(row: object) -> StayPlace:
    """Raises FactError for the first thing that is not as it must be."""
    fields = Fields(row, "")
    place = StayPlace(
        title=_text(fields, "title"),
        when=_choice(fields, "when", STAY_WHEN),
        procedures=_texts(fields, "procedures"),
    )
    fields.finish()
    return place


def _read_look(fields: Fields, when: str) -> LapLook:
    """A look of the lap says in how many minutes it is taken, and what is looked at."""
    in_lap = when == "lap"
    if in_lap and not (fields.has("minutes") and fields.has("look")):
        raise FactError(fields.place, 'needs "minutes" and "look"')
    look = LapLook(
        procedure=_text(fields, "procedure"),
        minutes=_count(fields, "minutes", MOST_LOOK, "minutes"),
        look=_text(fields, "look", default=""),
        always=_flag(fields, "always"),
        that_day=_flag(fields, "that_day"),
        together=_flag(fields, "together"),
        with_steps=_flag(fields, "with_steps"),
    )
    fields.finish()
    return look


def read_procedure(row: object, system: str, equipment: Collection[str]) -> Procedure:
    """Raises FactError for the first thing that is not as it must be."""
    fields = Fields(row, "")
    measures = tuple(_read_measure(inner) for inner in _inner(fields, "measures"))
    procedure = Procedure(
        key=_text(fields, "key"),
        system=system,
        title=_text(fields, "title"),
        short=_text(fields, "short"),
        why=_text(fields, "why"),
        who=_choice(fields, "who", EVERY_WHO),
        minutes=as_count(fields.take("minutes"), "minutes", 0, MOST_MINUTES, "minutes"),
        cautions=_texts(fields, "cautions"),
        tools=_texts(fields, "tools"),
        supplies=_texts(fields, "supplies"),
        steps=_texts(fields, "steps"),
        also_called=_texts(fields, "also_called"),
        measures=measures,
        comparisons=tuple(
            _read_comparison(inner, measures) for inner in _inner(fields, "comparisons")
        ),
        trends=tuple(
            _read_trend(inner, measures) for inner in _inner(fields, "trends")
        ),
        sources=tuple(_read_source(inner) for inner in _inner(fields, "sources")),
        **_danger(fields),
        **_rigs(fields, equipment),
        **_rules(fields),
        **_neighbors(fields),
    )
    fields.finish()
    checks.check_short(procedure)
    checks.check_procedure(procedure)
    checks.check_unfit(procedure)
    return procedure


def _danger(fields: Fields) -> dict[str, Any]:
    """What it means for safety."""
    return {
        "safety": _flag(fields, "safety"),
        "unfit": _text(fields, "unfit", default=""),
        "unfit_when": _choices(fields, "unfit_when", UNFIT_WHEN),
        "unfit_years": _count(fields, "unfit_years", MOST_YEARS, "years"),
        "not_legal": _flag(fields, "not_legal"),
    }


def _rigs(fields: Fields, equipment: Collection[str]) -> dict[str, Any]:
    """Which rigs it is for."""
    return {
        "kinds": _choices(fields, "kinds", EVERY_KIND),
        "not_kinds": _choices(fields, "not_kinds", EVERY_KIND),
        "equipment": _choices(fields, "equipment", equipment),
        "equipment_any": _choices(fields, "equipment_any", equipment),
        "without": _choices(fields, "without", equipment),
    }


def _rules(fields: Fields) -> dict[str, Any]:
    """What makes it due."""
    return {
        "triggers": _read_triggers(fields),
        "anchored": _flag(fields, "anchored"),
        "once": _flag(fields, "once"),
        "baseline": _choice(fields, "baseline", ("none", "in_service"), default="none"),
        "per": _choice(fields, "per", ("place",), default=""),
        "renewed_by": _choice(fields, "renewed_by", EVENT_KINDS, default=""),
        "rolls": _flag(fields, "rolls"),
        "runway": _choice(fields, "runway", RUNWAYS, default=""),
        "hard_water_months": _count(
            fields, "hard_water_months", 12 * MOST_YEARS, "months"
        ),
    }


def _neighbors(fields: Fields) -> dict[str, Any]:
    """What it has to do with other work, with components and with calculators."""
    return {
        "raises": _choices(fields, "raises", EVENT_KINDS),
        "renews": _texts(fields, "renews"),
        "needs_first": _texts(fields, "needs_first"),
        "split_from": _text(fields, "split_from", default=""),
        "component": _read_component(fields),
        "moves": _choice(fields, "moves", COMPONENT_KINDS, default=""),
        "calculators": _texts(fields, "calculators"),
    }


def _read_triggers(fields: Fields) -> tuple[Rule, ...]:
    """An empty list says that the work is done when needed; it has to be said."""
    rules = as_list(fields.take("triggers"), "triggers")
    checks.check_triggers(rules)
    return tuple(rule for rule in rules if isinstance(rule, dict))


def _year(fields: Fields, field: str) -> int:
    """A model year; 0 where nothing is said."""
    if not fields.has(field):
        return 0
    return as_count(fields.get(field), fields.at(field), 1950, 2100, "years")


def _count(fields: Fields, field: str, most: int, unit: str) -> int:
    """At least 1; 0 where nothing is said."""
    if not fields.has(field):
        return 0
    return as_count(fields.get(field), fields.at(field), 1, most, unit)


def _read_component(fields: Fields) -> OfComponent | None:
    if not fields.has("component"):
        return None
    inner = Fields(fields.get("component"), "component")
    kind = _choice(inner, "kind", COMPONENT_KINDS)
    component = OfComponent(
        kind=kind,
        types=_choices(inner, "types", TYPES.get(kind, ())),
        usual=_flag(inner, "usual"),
        dates=_choice(inner, "dates", COMPONENT_DATES, default="made"),
    )
    inner.finish()
    return component


def _read_measure(fields: Fields) -> Measure:
    low, high = _number(fields, "low"), _number(fields, "high")
    measure = Measure(
        name=_text(fields, "name"),
        unit=_choice(fields, "unit", MEASURE_UNITS),
        per=_choice(fields, "per", MEASURE_PLACES, default=""),
        low=low,
        high=high,
        limits_by_place=tuple(
            _read_place_limit(one) for one in _inner(fields, "limits_by_place")
        ),
        short_percent=_number(fields, "short_percent"),
    )
    fields.finish()
    if low is not None and high is not None and low >= high:
        raise FactError(fields.at("low"), "must be below high")
    checks.check_place_limits(measure, fields.at("limits_by_place"))
    return measure


def _read_place_limit(fields: Fields) -> PlaceLimit:
    limit = PlaceLimit(
        places=_choices(fields, "places", WHEEL_PLACES),
        low=as_number(fields.take("low"), fields.at("low")),
        heavy=_flag(fields, "heavy"),
    )
    fields.finish()
    return limit


def _read_comparison(fields: Fields, measures: Sequence[Measure]) -> Comparison:
    """Its unit is that of the measures."""
    units = {one.name: one.unit for one in measures if one.per == "wheel"}
    names = _choices(fields, "measures", units)
    comparison = Comparison(
        measures=tuple(name.casefold() for name in names),
        among=_choice(fields, "among", AMONG),
        odd=_choice(fields, "odd", ("low", "high")),
        words=_text(fields, "words"),
        unit=units[names[0]] if names else "",
        apart=_number(fields, "apart"),
        percent=_number(fields, "percent"),
        unfit=_flag(fields, "unfit"),
    )
    fields.finish()
    checks.check_comparison(comparison, units, fields.at("measures"))
    return comparison


def _read_trend(fields: Fields, measures: Sequence[Measure]) -> Trend:
    """Its unit is that of the measures."""
    units = {one.name: one.unit for one in measures}
    names = _choices(fields, "measures", units)
    trend = Trend(
        measures=tuple(name.casefold() for name in names),
        odd=_choice(fields, "odd", ("low", "high")),
        words=_text(fields, "words"),
        unit=units[names[0]] if names else "",
        apart=_number(fields, "apart") or Decimal(0),
        usual=_flag(fields, "usual"),
        among="wheels" if _flag(fields, "among_wheels") else "",
    )
    fields.finish()
    checks.check_trend(trend, units, fields.at("measures"))
    return trend


def _read_source(fields: Fields) -> Source:
    source = Source(
        of=_text(fields, "of"),
        kind=_choice(fields, "kind", SOURCE_KINDS),
        text=_text(fields, "text", default=""),
    )
    fields.finish()
    if source.kind == "published" and not source.text:
        raise FactError(fields.at("text"), "must name the published source")
    return source


def _text(fields: Fields, field: str, default: str | None = None) -> str:
    value = fields.get(field) if default is not None else fields.take(field)
    if value is None or value == default:
        return default or ""
    return as_text(value, fields.at(field))


def _choice(
    fields: Fields, field: str, known: Iterable[str], default: str | None = None
) -> str:
    value = fields.get(field) if default is not None else fields.take(field)
    if value is None and default is not None:
        return default
    return as_choice(value, fields.at(field), known)


def _flag(fields: Fields, field: str) -> bool:
    value = fields.get(field)
    return value is not None and as_flag(value, fields.at(field))


def _number(fields: Fields, field: str) -> Decimal | None:
    value = fields.get(field)
    return None if value is None else as_number(value, fields.at(field))


def _list(fields: Fields, field: str) -> list[object]:
    value = fields.get(field)
    return [] if value is None else as_list(value, fields.at(field))


def _texts(fields: Fields, field: str) -> tuple[str, ...]:
    place = fields.at(field)
    found = tuple(
        as_text(one, f"{place}[{i}]") for i, one in enumerate(_list(fields, field))
    )
    if len(set(found)) < len(found):
        raise FactError(place, "has a line there twice")
    return found


def _choices(fields: Fields, field: str, known: Iterable[str]) -> tuple[str, ...]:
    names = list(known)
    for i, one in enumerate(_texts(fields, field)):
        as_choice(one, f"{fields.at(field)}[{i}]", names)
    return _texts(fields, field)


def _inner(fields: Fields, field: str) -> list[Fields]:
    place = fields.at(field)
    return [Fields(one, f"{place}[{i}]") for i, one in enumerate(_list(fields, field))]
