"""Bundling: jobs with windows, arranged into the fewest sittings.

Windows on a line are stabbed with the fewest points by taking, again and again, the
earliest close that no point lies in yet and putting a point on it (interval stabbing;
a textbook result, proved against trying everything in the tests). Which of several
sittings a job joins then goes by the access and the tools it shares with the others.
"""

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Job:
    """Work to be done from `opens` to `closes`, both days included. `shares` names what
    it has in common with others: wheels off, the roof, a tool. `minutes` of work."""

    key: Hashable
    opens: date
    closes: date
    shop: bool = False
    shares: frozenset[str] = frozenset()
    minutes: int = 0


@dataclass(frozen=True, slots=True)
class WorkSession:
    """Jobs to be done on one day: any day from `opens` to `closes` lies in the windows
    of them all, but of those that are `late` already."""

    opens: date
    closes: date
    shop: bool
    jobs: tuple[Job, ...]
    late: frozenset[Hashable] = frozenset()

    @property
    def minutes(self) -> int:
        return sum(job.minutes for job in self.jobs)


def bundle(
    jobs: Iterable[Job], *, today: date, shop_wait: timedelta = timedelta(0)
) -> tuple[WorkSession, ...]:
    """The fewest sittings that do every job in its window, by their first day.

    Own work and shop work never share a sitting. A shop gives no day before
    `today + shop_wait`. What closes before the first possible day is done on it, as
    `late`. A window that closes before it opens raises ValueError.
    """
    own: list[Job] = []
    shops: list[Job] = []
    for job in jobs:
        if job.closes < job.opens:
            raise ValueError(f"{job.key}: closes {job.closes} before {job.opens}")
        (shops if job.shop else own).append(job)
    made = _arrange(own, today) + _arrange(shops, today + shop_wait)
    return tuple(sorted(made, key=lambda session: (session.opens, session.shop)))


def _arrange(jobs: Sequence[Job], first: date) -> list[WorkSession]:
    """Sittings of one kind, none before the day `first`."""
    spans = {i: _span(job, first) for i, job in enumerate(jobs)}
    points = _stab(spans.values())
    groups: dict[date, list[int]] = defaultdict(list)
    shared: dict[date, Counter[str]] = defaultdict(Counter)
    choices = {i: _within(points, span) for i, span in spans.items()}
    # Those that have no choice first: the others then see whom they can join.
    for i in sorted(choices, key=lambda i: (len(choices[i]), spans[i], i)):
        day = _day_for(jobs[i], choices[i], shared)
        groups[day].append(i)
        shared[day].update(jobs[i].shares)
    return [_sitting(jobs, groups[day], spans, first) for day in sorted(groups)]


def _span(job: Job, first: date) -> tuple[date, date]:
    return max(job.opens, first), max(job.closes, first)


def _stab(spans: Iterable[tuple[date, date]]) -> list[date]:
    """The fewest days such that one lies in every span, ascending."""
    points: list[date] = []
    for opens, closes in sorted(spans, key=lambda span: span[1]):
        if not points or points[-1] < opens:
            points.append(closes)
    return points


def _within(points: Sequence[date], span: tuple[date, date]) -> Sequence[date]:
    return points[bisect_left(points, span[0]) : bisect_right(points, span[1])]


def _day_for(
    job: Job, days: Sequence[date], shared: Mapping[date, Counter[str]]
) -> date:
    """The day with most in common; of several the first."""
    if not job.shares:
        return days[0]
    return max(days, key=lambda day: sum(shared[day][name] for name in job.shares))


def _sitting(
    jobs: Sequence[Job],
    chosen: Sequence[int],
    spans: dict[int, tuple[date, date]],
    first: date,
) -> WorkSession:
    return WorkSession(
        opens=max(spans[i][0] for i in chosen),
        closes=min(spans[i][1] for i in chosen),
        shop=jobs[chosen[0]].shop,
        jobs=tuple(jobs[i] for i in sorted(chosen)),
        late=frozenset(jobs[i].key for i in chosen if jobs[i].closes < first),
    )
