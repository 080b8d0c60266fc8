"""All that a household finds under some words, best first."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import partial

from maintenance.core.search.asked import Asked
from maintenance.core.search.shelf import Ranked, Shelf, Thing
from maintenance.households.models import Household
from maintenance.library.things import lines
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import rigs_of

from ..models import SearchKind
from .common import shelf
from .rows import is_known, rows_with

LEAST = 0.45  # of the best rank; what fits less is left out
ALSO = 0.6  # what a rig's make and kind count beside its name


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found, best first; `rigs` are those that are meant: named, else all."""

    asked: Asked
    ranked: list[Ranked]
    rigs: list[Rig]


def find(household: Household, typed: str) -> Answer:
    """Of what all have alike, what fits much less than the best is left out."""
    rigs = list(rigs_of(household))
    common, things = shelf(), [_as_thing(rig) for rig in rigs]
    asked = common.ask(typed, partial(_is_known, household, things))
    if not asked.groups:
        return Answer(asked, [], rigs)
    named = _named(asked, rigs, common)
    rows = [*things, *rows_with(household, asked, common.words)]
    own = common.rank_others(asked, rows)
    alike = common.rank(_without(named, asked, common))
    best = max((one.rank for one in (*own, *alike)), default=0)
    found = [*(one for one in alike if one.rank >= LEAST * best), *own]
    found.sort(key=lambda one: -round(one.rank, 3))
    return Answer(asked, found, named or rigs)


def _is_known(
    household: Household, rigs: Iterable[Thing], term: str, begun: str
) -> bool:
    lines = (line for rig in rigs for line in rig.lines)
    if any(term in slot for line in lines for slot in line.slots):
        return True
    return is_known(household, term, begun)


def _named(asked: Asked, rigs: Iterable[Rig], common: Shelf) -> list[Rig]:
    typed = {next(iter(group.terms)) for group in asked.groups}
    names = [(rig, common.words.slots(rig.name)) for rig in rigs]
    return [rig for rig, slots in names if slots and all(typed & {*s} for s in slots)]


def _without(named: Iterable[Rig], asked: Asked, common: Shelf) -> Asked:
    """A rig's name is no word of a procedure."""
    names = {t for rig in named for slot in common.words.slots(rig.name) for t in slot}
    left = tuple(one for one in asked.groups if next(iter(one.terms)) not in names)
    return replace(asked, groups=left)


def _as_thing(rig: Rig) -> Thing:
    kind = rig.get_kind_display()
    found = (
        *lines(1, rig.name),
        *lines(ALSO, kind, f"{rig.make} {rig.model}", rig.vin, rig.plate),
    )
    return Thing(SearchKind.RIG, str(rig.pk), rig.name, found, kind)
