"""Jobs of a rig's plan: the likely ones, and those found by typing."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from maintenance.core.search.shelf import Line, Thing
from maintenance.library.model import Procedure
from maintenance.library.things import lines, procedure_lines
from maintenance.plans.models import PlanItem, StandingName
from maintenance.plans.queries import own_procedures, plan_of
from maintenance.plans.rows import row_of
from maintenance.vehicles.models import Rig

from .models import SearchKind
from .search.common import shelf

LIKELY = 3
MOST = 6
LEAST = 2  # letters
LIKELY_STANDINGS = (
    StandingName.OVERDUE,
    StandingName.DUE,
    StandingName.SOON,
    StandingName.UNKNOWN,
)
ENOUGH = 0.5  # of the best one's rank


@dataclass(frozen=True, slots=True)
class JobChoice:
    """A job to choose; `when` is a word on its standing, or empty."""

    item: PlanItem
    when: str = ""


def likely_jobs(rig: Rig, today: date) -> list[JobChoice]:
    """Those that press most, in the order of Due."""
    rows = plan_of(rig).filter(standing__in=LIKELY_STANDINGS)
    rows = rows.filter(item__warranty_of__isnull=True)  # a reminder, no work
    rows = rows.order_by("rank", "closes_on", "item__pk")[:LIKELY]
    return [JobChoice(row.item, row_of(row, today).when) for row in rows]


def find_jobs(rig: Rig, typed: str) -> list[JobChoice]:
    """Those of the plan that answer best, by the search of all pages."""
    if len(typed.strip()) < LEAST:
        return []
    asked = shelf().ask(typed)
    ranks = {
        one.thing.key: one.rank
        for one in shelf().rank(asked, kinds=(SearchKind.PROCEDURE,))
    }
    items = list(PlanItem.objects.active().filter(rig=rig).select_related("rig"))
    own = own_procedures(rig.household)
    others = [_as_thing(item, own.get(item.key)) for item in items]
    by_item = {one.thing.key: one.rank for one in shelf().rank_others(asked, others)}
    ranked = [
        (max(ranks.get(item.key, 0), by_item.get(str(item.pk), 0)), item)
        for item in items
    ]
    best = max((rank for rank, _item in ranked), default=0)
    found = [(rank, item) for rank, item in ranked if rank and rank >= ENOUGH * best]
    found.sort(key=lambda one: (-round(one[0], 3), one[1].title))
    return [JobChoice(item) for _rank, item in found[:MOST]]


def _as_thing(item: PlanItem, own: Procedure | None) -> Thing:
    """By its own title, and by what the household's own procedure says."""
    found: Iterable[Line] = procedure_lines(own) if own else lines(1, item.title)
    return Thing(SearchKind.PROCEDURE, str(item.pk), item.title, tuple(found))
