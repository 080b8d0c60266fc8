"""What Due shows, loaded in a fixed number of queries and handed on as plain rows."""

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from maintenance.findings.fitness import Fitness, account_of
from maintenance.findings.models import Finding
from maintenance.findings.queries import open_findings
from maintenance.households.models import Household
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem, Standing, StandingName
from maintenance.plans.queries import due_standings
from maintenance.vehicles.models import Rig
from maintenance.vehicles.parked import with_last_use

AHEAD = timedelta(days=60)
SHOP = "shop"


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
    short."""

    today: date
    household: Household
    rigs: list[Rig]
    standings: list[Standing]
    jobs: list[Light]
    findings: list[Finding]
    fitness: dict[int, Fitness]

    @property
    def last(self) -> date:
        """The last day that is looked ahead to."""
        return self.today + AHEAD

    def counts(self, rig: Rig) -> Counter[str]:
        return Counter(job.standing for job in self.jobs if job.rig == rig.pk)


def due_facts(household: Household, today: date) -> DueFacts:
    rigs = with_last_use(household, today, states=True)
    standings = list(due_standings(household))
    findings = list(open_findings(household).asking_themselves())
    return DueFacts(
        today=today,
        household=household,
        rigs=rigs,
        standings=standings,
        jobs=_jobs(household),
        findings=findings,
        fitness=account_of(standings, findings, today),
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


def short_name(key: str, title: str) -> str:
    procedure = load_library().procedures.get(key)
    return (procedure.short if procedure else "") or title


def is_shops(key: str) -> bool:
    procedure = load_library().procedures.get(key)
    return procedure is not None and procedure.who == SHOP


def minutes_of(keys: Collection[str]) -> int:
    found = map(load_library().procedures.get, keys)
    return sum(one.minutes for one in found if one is not None)
