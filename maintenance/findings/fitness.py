"""Fit to travel, the one account: what of the plan and of the findings makes a rig
unfit, with the reason in words; papers that ran out stand apart.

What an item does is decided in `core/fitness.py` when it is reckoned. Pages, print,
mail and calendar ask here, or read the same rows.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Q

from maintenance.households.models import Household
from maintenance.plans.models import PlanItem, Standing
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
    standings = standings_of(household).filter(Q(unfit=True) | Q(not_legal=True))
    findings = unfit_findings(household).order_by("found_on", "pk")
    if rigs is not None:
        of = [rig.pk for rig in rigs]
        standings = standings.filter(item__rig__in=of)
        findings = findings.filter(rig__in=of)
    return account_of(standings, findings, today)


def account_of(
    standings: Iterable[Standing], findings: Iterable[Finding], today: date
) -> dict[int, Fitness]:
    """The same, of rows that are loaded already: those that stop nothing are left
    out."""
    found: dict[int, Fitness] = defaultdict(Fitness)
    became = set()
    for standing in standings:
        if not standing.unfit and not standing.not_legal:
            continue
        row = row_of(standing, today)
        reason = Reason(row.item.rig, row.title, row.fitness, item=row.item)
        one = found[reason.rig.pk]
        (one.not_legal if standing.not_legal else one.unfit).append(reason)
        became.add(row.item.pk)
    for finding in findings:
        # One that became such an item stands there once.
        if finding.unfit and finding.item_id not in became:
            found[finding.rig_id].unfit.append(_found(finding))
    return dict(found)


def _found(finding: Finding) -> Reason:
    why = f"Found {day_words(finding.found_on)}, not fixed yet."
    return Reason(finding.rig, finding.what, why, finding=finding)
