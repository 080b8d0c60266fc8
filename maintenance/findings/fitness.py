"""Fit to travel, the one account: what of the plan and of the findings makes a rig
unfit, with the reason in words; papers that ran out stand apart.

What an item does is decided in `core/fitness.py` when it is reckoned. Pages, print,
mail and calendar ask here, or read the same rows.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Q

from maintenance.households.models import Household
from maintenance.plans.models import PlanItem
from maintenance.plans.queries import standings_of
from maintenance.plans.rows import row_of
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig

from .models import Finding
from .queries import unfit_findings


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that stops a rig: an item of its plan, or a finding."""

    rig: Rig
    what: str
    why: str
    item: PlanItem | None = None
    finding: Finding | None = None

    def __str__(self) -> str:
        return self.what


@dataclass(frozen=True, slots=True)
class Fitness:
    """`unfit`: the rig does not travel until each is put right. `not_legal`: papers."""

    unfit: list[Reason] = field(default_factory=list)
    not_legal: list[Reason] = field(default_factory=list)

    @property
    def is_fit(self) -> bool:
        return not self.unfit


def fitness_of(
    household: Household, today: date, rigs: Iterable[Rig] | None = None
) -> dict[int, Fitness]:
    """Rig id -> its account, for those that the household has and that something stops;
    in two queries, however many there are. `rigs`: of these alone."""
    found: dict[int, Fitness] = defaultdict(Fitness)
    of = None if rigs is None else [rig.pk for rig in rigs]
    became = set()
    for reason, by_paper in _of_plan(household, today, of):
        one = found[reason.rig.pk]
        (one.not_legal if by_paper else one.unfit).append(reason)
        became.add(reason.item.pk if reason.item else 0)
    rows = unfit_findings(household).order_by("found_on", "pk")
    for row in rows if of is None else rows.filter(rig__in=of):
        if row.item_id not in became:  # one that became such an item stands there once
            found[row.rig_id].unfit.append(_found(row))
    return dict(found)


def _of_plan(
    household: Household, today: date, of: Collection[int] | None
) -> Iterable[tuple[Reason, bool]]:
    rows = standings_of(household).filter(Q(unfit=True) | Q(not_legal=True))
    for standing in rows if of is None else rows.filter(item__rig__in=of):
        row = row_of(standing, today)
        reason = Reason(row.item.rig, row.title, row.fitness, item=row.item)
        yield reason, standing.not_legal


def _found(finding: Finding) -> Reason:
    why = f"Found {day_words(finding.found_on)}, not fixed yet."
    return Reason(finding.rig, finding.what, why, finding=finding)
