"""The work of all rigs in a span of days, arranged into the fewest sittings."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.bundling import Job, WorkSession, bundle
from maintenance.households.models import Household
from maintenance.library.reading import load_library
from maintenance.plans.effort import hours_in_words
from maintenance.plans.models import PlanItem
from maintenance.plans.queries import procedures_of, standings_of
from maintenance.ui.words import WHO_WORDS

from .jobs import ASKING, Asked, jobs_of

SPANS = (30, 90, 180, 365)  # days; what a page offers
USUAL = 90
MOST_ALONG = 6


@dataclass(frozen=True, slots=True)
class JobLine:
    item: PlanItem
    who: str
    minutes: int
    late: bool
    opens: date
    closes: date


@dataclass(frozen=True, slots=True)
class SessionLine:
    """Any day from `opens` to `closes` lies in the windows of all `jobs` but the late.
    `along` could join them: not needed yet, but with much in common."""

    opens: date
    closes: date
    shop: bool
    time: str
    shares: list[str]
    jobs: list[JobLine]
    along: list[JobLine]


@dataclass(frozen=True, slots=True)
class SessionsPage:
    until: date
    sessions: list[SessionLine]
    jobs: int
    total: str
    shop_wait: int


def sessions_page(household: Household, today: date, days: int) -> SessionsPage:
    """What must be done within `days`; in a fixed number of queries."""
    until = today + timedelta(days=days)
    rows = standings_of(household).filter(standing__in=ASKING).defer("why")
    library = load_library()
    asked = {
        one.job.key: one
        for one in jobs_of(rows, procedures_of(household), library.spots)
    }
    needed = [one.job for one in asked.values() if one.job.closes <= until]
    could = [
        one.job for one in asked.values() if one.job.opens <= until < one.job.closes
    ]
    wait = timedelta(days=household.shop_wait_days)
    made = bundle(needed, today=today, shop_wait=wait)
    along = _along(made, could)
    lines = [_line(one, along.get(n, []), asked) for n, one in enumerate(made)]
    minutes = sum((one.minutes for one in made), 0)
    return SessionsPage(
        until=until,
        sessions=lines,
        jobs=len(needed),
        total=hours_in_words(Decimal(minutes)),
        shop_wait=household.shop_wait_days,
    )


def _along(made: Iterable[WorkSession], could: Iterable[Job]) -> dict[int, list[Job]]:
    """Each to the sitting with which it shares most, if the days fit."""
    sessions = list(made)
    shared = [frozenset().union(*(job.shares for job in one.jobs)) for one in sessions]
    found: dict[int, list[Job]] = {}
    for job in could:
        fits = [
            (len(job.shares & shared[n]), -n)
            for n, one in enumerate(sessions)
            if one.shop == job.shop and job.opens <= one.closes <= job.closes
        ]
        most, place = max(fits, default=(0, 0))
        if most:
            found.setdefault(-place, []).append(job)
    return found


def _line(
    session: WorkSession, along: list[Job], asked: Mapping[object, Asked]
) -> SessionLine:
    counted = Counter(name for job in session.jobs for name in job.shares)
    jobs = sorted(session.jobs, key=lambda job: _order(asked[job.key]))
    return SessionLine(
        opens=session.opens,
        closes=session.closes,
        shop=session.shop,
        time=hours_in_words(Decimal(session.minutes)),
        shares=sorted(name for name, count in counted.items() if count > 1),
        jobs=[_job(asked[job.key], job.key in session.late) for job in jobs],
        along=[_job(asked[job.key], late=False) for job in along[:MOST_ALONG]],
    )


def _order(one: Asked) -> tuple[str, str]:
    return one.standing.item.rig.name, one.standing.item.title


def _job(one: Asked, late: bool) -> JobLine:
    return JobLine(
        item=one.standing.item,
        who=WHO_WORDS[one.procedure.who] if one.procedure else "",
        minutes=one.job.minutes,
        late=late,
        opens=one.job.opens,
        closes=one.job.closes,
    )
