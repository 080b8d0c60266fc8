"""What Due shows, loaded in a fixed number of queries and handed on as plain rows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from maintenance.findings.fitness import Fitness, account_of
from maintenance.findings.models import Finding
from maintenance.findings.queries import open_findings
from maintenance.households.models import Household
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem, Standing, StandingName
from maintenance.plans.own_procedures import is_own
from maintenance.plans.queries import due_standings, procedures_of
from maintenance.ui.bars import LANE_AHEAD
from maintenance.vehicles.models import Rig
from maintenance.vehicles.parked import with_last_use
from maintenance.vehicles.state import RigState, state_of


class Light(NamedTuple):
    """A job that may wait, without its words."""

    rig: int
    standing: str
    key: str
    title: str
    system: str
    safety: bool
    opens: date | None
    closes: date | None


@dataclass(frozen=True)
class DueFacts:
    """`standings`: what asks for something, in the order of Due; `jobs`: all of them in
    short; `procedures`: how each is done; `states`: rig id -> where it is today."""

    today: date
    household: Household
    rigs: list[Rig]
    standings: list[Standing]
    jobs: list[Light]
    findings: list[Finding]
    fitness: dict[int, Fitness]
    procedures: Mapping[str, Procedure]
    states: dict[int, RigState]

    @property
    def last(self) -> date:
        """The last day that is looked ahead to."""
        return self.today + LANE_AHEAD

    def by_shop(self, key: str) -> bool:
        procedure = self.procedures.get(key)
        return procedure is not None and procedure.by_shop


def due_facts(household: Household, today: date) -> DueFacts:
    rigs = with_last_use(household, today, states=True)
    standings = list(due_standings(household))
    findings = list(open_findings(household).asking_themselves())
    jobs = _jobs(household)
    # The household's own procedures take a query, and few have any.
    has_own = any(is_own(job.key) for job in jobs)
    return DueFacts(
        today=today,
        household=household,
        rigs=rigs,
        standings=standings,
        jobs=jobs,
        findings=findings,
        fitness=account_of(standings, findings, today),
        procedures=procedures_of(household) if has_own else load_library().procedures,
        states={rig.pk: state_of(rig, today) for rig in rigs},
    )


def _jobs(household: Household) -> list[Light]:
    rows = PlanItem.objects.for_household(household).active()
    columns = rows.values_list(
        "rig_id",
        "standing__standing",
        "key",
        "title",
        "system",
        "safety",
        "standing__opens_on",
        "standing__closes_on",
    )
    return [Light(*row) for row in columns.order_by("standing__closes_on", "pk")]


def later_jobs(facts: DueFacts, rig: Rig) -> list[Light]:
    """Those that open within the days looked ahead to."""
    return [
        job
        for job in facts.jobs
        if job.rig == rig.pk
        and job.standing == StandingName.LATER
        and job.opens is not None
        and job.opens <= facts.last
    ]
