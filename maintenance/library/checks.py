"""What a library entry must keep to, beyond its form."""

import re
from collections.abc import Callable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter

from maintenance.core.facts import FactError
from maintenance.core.measured import Comparison, Trend
from maintenance.core.triggers import Kind, parse_triggers
from maintenance.library.errors import LibraryError
from maintenance.library.model import (
    COMPONENT_DATES,
    STAY_WHEN,
    UNFIT_WHEN,
    Library,
    Measure,
    Procedure,
)
from maintenance.vehicles.runways import FROST

KEY = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")

# A meter of the library -> the units it can count in.
METERS = {"distance": ("mi", "km"), "engine": ("h",), "generator": ("h",)}

# Words of work that can hurt: whoever does it reads cautions first.
HAZARDS = re.compile(
    r"\b(ladder|jacks?|torque|bleach|solvent|acid|goggles|fuel|breakers?|burners?"
    r"|solder|knife|compressed air|roll|drive at)\b",
    re.IGNORECASE,
)

# How the `of` of a source speaks of when work is due.
WHEN = re.compile(
    r"\b(interval|window|hours?|days?|weeks?|months?|years?|miles?|daily|weekly|monthly"
    r"|yearly|spring|fall|autumn|season|storage|before|after|each)\b"
)

# Words in which people tell of a piece of work.
SAID = re.compile(r"[a-z0-9]+( [a-z0-9]+)*")


# The most that a lane or the month has room for.
SHORT_WORDS = 3
SHORT_LETTERS = 22

# Of apps above this one, which add theirs when they are ready: each raises FactError.
FURTHER_CHECKS: list[Callable[[Procedure], None]] = []


def check_procedure(procedure: Procedure) -> None:
    """Raise FactError for the first thing that is not as it must be."""
    for field in ("steps", "sources"):
        if not getattr(procedure, field):
            raise FactError(field, "must not be empty")
    _check_cautions(procedure)
    if procedure.unfit_when and not procedure.unfit:
        raise FactError("unfit", "must say what makes the rig unfit to travel")
    for key in procedure.without:
        if key in (*procedure.equipment, *procedure.equipment_any):
            raise FactError("without", f'"{key}" is asked for and ruled out')
    if procedure.kinds and procedure.not_kinds:
        raise FactError("not_kinds", "is for procedures of every other kind of rig")
    _check_component(procedure)
    _check_occasions(procedure)
    _check_per_place(procedure)
    _check_renewed_by(procedure)
    _check_also_called(procedure)
    names = [measure.name for measure in procedure.measures]
    if len(set(names)) < len(names):
        raise FactError("measures", "has one name twice")
    for check in FURTHER_CHECKS:
        check(procedure)


def check_unfit(procedure: Procedure) -> None:
    """Raise FactError unless what makes a rig unfit says when, and can come about."""
    if procedure.unfit and not procedure.unfit_when:
        raise FactError("unfit_when", f"must say when: {', '.join(UNFIT_WHEN)}")
    rules = {kind for rule in procedure.triggers for kind in rule}
    can = {
        "overdue": (bool(rules), "a trigger"),
        "event": ("after" in rules, 'a trigger "after"'),
        "measured": (bool(procedure.measures), "a measure"),
        "age": ("life" in rules, 'a trigger "life"'),
    }
    if procedure.unfit_years and "age" not in procedure.unfit_when:
        raise FactError("unfit_years", 'needs "age" in unfit_when')
    if procedure.not_legal and not procedure.unfit:
        raise FactError("not_legal", "must say in unfit what is not legal")
    if not procedure.unfit and any(one.unfit for one in procedure.comparisons):
        raise FactError("unfit", "must say what makes the rig unfit to travel")
    for when in procedure.unfit_when:
        there, needed = can.get(when, (True, ""))
        if not there:
            raise FactError("unfit_when", f'"{when}" needs {needed}')


def check_short(procedure: Procedure) -> None:
    """Raise FactError unless it is a few words in sentence case: “GFCI test”."""
    short = procedure.short
    first, *others = short.split()
    if len(others) >= SHORT_WORDS or len(short) > SHORT_LETTERS:
        raise FactError(
            "short",
            f'"{short}" must be {SHORT_WORDS} words and {SHORT_LETTERS} characters at '
            "most",
        )
    capital = [word for word in others if word[:1].isupper() and word[1:].islower()]
    if first[0].islower() or capital or not short[-1].isalnum():
        raise FactError("short", f'"{short}" must look like "Shore cord"')


def _check_per_place(procedure: Procedure) -> None:
    """Place by place counts what comes round or follows an event."""
    if procedure.per and not any(
        {"every", "after"} & {*one} for one in procedure.triggers
    ):
        raise FactError("per", 'needs a rule "every" or "after"')


def _check_renewed_by(procedure: Procedure) -> None:
    if procedure.renewed_by and not any(
        {"every", "life"} & {*one} for one in procedure.triggers
    ):
        raise FactError("renewed_by", 'needs a rule "every" or "life"')


def _check_also_called(procedure: Procedure) -> None:
    for words in procedure.also_called:
        if not SAID.fullmatch(words):
            raise FactError("also_called", f'"{words}" must be words in small letters')


def _check_component(procedure: Procedure) -> None:
    """Dates are those of its kind; what counts a life from them is a rule of a life."""
    of = procedure.component
    if of is None:
        return
    kind = COMPONENT_DATES[of.dates]
    if kind not in ("", of.kind):
        raise FactError("component.dates", f'"{of.dates}" is a date of the kind {kind}')
    counts_life = of.dates in ("alarm", "collar", "tested")
    if counts_life and not any("life" in rule for rule in procedure.triggers):
        raise FactError("component.dates", f'"{of.dates}" needs a trigger "life"')


def _check_occasions(procedure: Procedure) -> None:
    """What a stay or a trip asks of it needs the rule that it bears on."""
    rules = {kind for rule in procedure.triggers for kind in rule}
    if procedure.runway not in ("", FROST) and "while_stored" not in rules:
        raise FactError(
            "runway", f'"{procedure.runway}" needs a trigger "while_stored"'
        )


def check_place_limits(measure: Measure, field: str) -> None:
    """A limit of a place is stricter than elsewhere, and one place has one."""
    named = [place for one in measure.limits_by_place for place in one.places]
    if measure.limits_by_place and measure.per != "wheel":
        raise FactError(field, 'needs per = "wheel"')
    if len(set(named)) < len(named):
        raise FactError(field, "names a place twice")
    for number, one in enumerate(measure.limits_by_place):
        if not one.places:
            raise FactError(f"{field}[{number}].places", "must name a wheel")
        if measure.low is None or one.low <= measure.low:
            raise FactError(f"{field}[{number}].low", "must be above that elsewhere")


def check_comparison(one: Comparison, units: Mapping[str, str], field: str) -> None:
    """At one wheel several measures are compared, else one; the difference is a figure
    or a share."""
    if not one.measures or (one.among == "wheel") != (len(one.measures) > 1):
        raise FactError(field, "must name several where among is wheel, else one")
    if len({units[name] for name in one.measures}) > 1:
        raise FactError(field, "must be of one unit")
    given = [x for x in (one.apart, one.percent) if x is not None]
    if len(given) != 1 or given[0] <= 0:
        raise FactError(field, "needs one of apart and percent, above 0")


def check_trend(one: Trend, units: Mapping[str, str], field: str) -> None:
    if not one.measures or len({units[x] for x in units if _names(one, x)}) > 1:
        raise FactError(field, "must name measures of one unit")
    if one.apart <= 0:
        raise FactError(field, "needs apart, above 0")


def _names(one: Trend, measure: str) -> bool:
    return measure.casefold() in one.measures


def _check_cautions(procedure: Procedure) -> None:
    """Cautions may be missing only from plain work that an owner does."""
    if procedure.cautions:
        return
    if procedure.who != "owner":
        raise FactError("cautions", f"needed where the work is for {procedure.who}")
    if procedure.unfit or procedure.raises:
        raise FactError("cautions", "needed where safe travel hangs on the work")
    text = " ".join((procedure.title, *procedure.tools, *procedure.steps))
    word = HAZARDS.search(text)
    if word:
        raise FactError("cautions", f'needed, for the work speaks of "{word.group()}"')


def check_triggers(rules: list[object]) -> None:
    """Raise FactError for a trigger that is malformed, implausible or unmetered."""
    for number, trigger in enumerate(parse_triggers(rules, "triggers")):
        problem = strange_meter(trigger) or trigger.implausible()
        if problem:
            raise FactError(f"triggers[{number}]", problem)


def strange_meter(trigger: Kind) -> str | None:
    """What is wrong with the meter that a library trigger counts on, if anything."""
    counted_on = trigger.counted_on()
    if counted_on is None:
        return None
    meter, unit = counted_on
    units = METERS.get(meter)
    if units is None:
        return f'"{meter}" is not a meter; known are {", ".join(METERS)}'
    if unit not in units:
        return f'"{unit}" does not fit the meter {meter}'
    return None


def refuse_broken_links(library: Library) -> None:
    for procedure in library.procedures.values():
        named = {
            "renews": procedure.renews,
            "needs_first": procedure.needs_first,
            "split_from": (procedure.split_from,) if procedure.split_from else (),
        }
        for field, keys in named.items():
            for key in keys:
                if key == procedure.key or key not in library.procedures:
                    raise _error(procedure, field, f'"{key}" is not another procedure')
    _refuse_circles(library)
    _refuse_shared_short(library)
    _refuse_broken_lap(library)
    _refuse_broken_stay(library)
    for spot in library.spots.values():
        for key in spot.procedures:
            if key not in library.procedures:
                raise LibraryError(
                    "spots.toml", spot.key, "procedures", f'"{key}" is not a procedure'
                )


def _refuse_broken_lap(library: Library) -> None:
    """Whatever is due before a trip has one place, and nothing else has."""
    named = [look.procedure for stop in library.lap for look in stop.looks]
    asked = [
        one.key
        for one in library.procedures.values()
        if any("before_trip" in rule for rule in one.triggers)
    ]
    for key in named:
        if key not in asked:
            raise LibraryError("lap.toml", key, "", "is not due before a trip")
        if named.count(key) > 1:
            raise LibraryError("lap.toml", key, "", "is there twice")
    for key in asked:
        if key not in named:
            raise LibraryError("lap.toml", key, "", "is due before a trip: say where")


def _refuse_broken_stay(library: Library) -> None:
    """Whatever a stay asks at its start or end has one place there, after those that
    it needs first."""
    for when in STAY_WHEN:
        places = [place.procedures for place in library.stay if place.when == when]
        place_of = {key: n for n, keys in enumerate(places) for key in keys}
        asked = {one.key for one in library.procedures.values() if _asks(one, when)}
        for key in sorted(asked ^ place_of.keys()):
            told = "is of a stay: say where" if key in asked else "is of no stay"
            raise LibraryError("stay.toml", key, when, told)
        if sum(map(len, places)) > len(place_of):
            raise LibraryError("stay.toml", "", when, "names a procedure twice")
        for key, place in place_of.items():
            for first in library.procedures[key].needs_first:
                if place_of.get(first, 0) > place:
                    raise LibraryError(
                        "stay.toml", key, when, f'comes before "{first}"'
                    )


def _asks(procedure: Procedure, when: str) -> bool:
    """Against frost goes by the season, too, and a freeze asks for looks."""
    if any(f"storage_{when}" in rule for rule in procedure.triggers):
        return True
    if when == "entry":
        return procedure.runway == "frost"
    return procedure.follows("freeze")


def _refuse_shared_short(library: Library) -> None:
    """In a lane nothing but the short name tells two jobs apart."""
    taken: dict[str, str] = {}
    for one in library.procedures.values():
        other = taken.setdefault(one.short.casefold(), one.key)
        if other != one.key:
            raise _error(one, "short", f'"{one.short}" is the name of "{other}"')


def _refuse_circles(library: Library) -> None:
    """What must be done first has an end."""
    needs = {key: one.needs_first for key, one in library.procedures.items()}
    try:
        TopologicalSorter(needs).prepare()
    except CycleError as problem:
        circle = problem.args[1]
        first = library.procedures[circle[0]]
        words = " before ".join(circle)
        raise _error(first, "needs_first", f"goes in a circle: {words}") from None


def refuse_unsourced(library: Library) -> None:
    for procedure in library.procedures.values():
        for figure in unsourced(procedure):
            raise _error(procedure, "sources", f'nothing says where "{figure}" is from')


def _error(procedure: Procedure, field: str, problem: str) -> LibraryError:
    return LibraryError(f"{procedure.system}.toml", procedure.key, field, problem)


def unsourced(procedure: Procedure) -> Iterator[str]:
    """The figures without a source: "interval", measures that have a limit, and what
    is compared (its words are the `of`).

    A source covers the interval when its `of` speaks of a time, a distance or an
    occasion; a measure when its `of` has the measure's name or one of its limits.
    """
    covered = [source.of for source in procedure.sources]
    if procedure.triggers and not any(map(WHEN.search, covered)):
        yield "interval"
    for measure in procedure.measures:
        stricter = [one.low for one in measure.limits_by_place]
        figured = (measure.low, measure.high, measure.short_percent, *stricter)
        limits = [f"{limit}" for limit in figured if limit]
        figures = re.compile(
            "|".join([re.escape(measure.name), *(rf"\b{one}\b" for one in limits)])
        )
        if limits and not any(map(figures.search, covered)):
            yield measure.name
    said = [one.words for one in procedure.comparisons]
    said += [one.words for one in procedure.trends]
    yield from (words for words in said if words not in covered)
