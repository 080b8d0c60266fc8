"""What to do this week: at most seven rows of known work, in the order of Due, with
alike jobs put together, and all safety that found no room counted in an eighth.

The order is that of `order.due_rank`. A row is what a person does in one go: the jobs
that the owner has at one rig, or one call to the shop for it, of one rank. How many
rows a person takes in is a choice of ours (seven), not a published figure.
"""

from collections import Counter
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

ROWS = 7
WEEK = timedelta(days=7)

# Ranks of `order.due_rank`.
SAFETY_OVERDUE, OVERDUE, SAFETY_DUE, SAFETY_UNKNOWN, DUE, UNKNOWN, SOON = range(1, 8)
UNKNOWNS = {SAFETY_UNKNOWN, UNKNOWN}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A job that Due lists. `opens` and `closes`: the days of its window, by date or as
    is likely; None where no day can be told. `minutes` of work. `booked`: the day on
    which a shop does it."""

    key: Hashable
    rig: Hashable
    rank: int
    safety: bool
    opens: date | None
    closes: date | None
    shop: bool
    minutes: int
    booked: date | None = None

    @property
    def unknown(self) -> bool:
        return self.rank in UNKNOWNS

    @property
    def presses(self) -> bool:
        """Safety that is overdue, due, or without a record."""
        return self.safety and self.rank != SOON


@dataclass(frozen=True, slots=True)
class WeekRow:
    """`jobs` of one rig and one rank. `unknown`: they have no record; `call`: a shop is
    to be called; `booked`: it does them on that day."""

    jobs: tuple[Candidate, ...]

    @property
    def rank(self) -> int:
        return min(job.rank for job in self.jobs)

    @property
    def unknown(self) -> bool:
        return self.jobs[0].unknown

    @property
    def shop(self) -> bool:
        return self.jobs[0].shop

    @property
    def safety(self) -> bool:
        return any(job.safety for job in self.jobs)

    @property
    def booked(self) -> date | None:
        return self.jobs[0].booked

    @property
    def minutes(self) -> int:
        """Of the owner's own work; none for what a shop does."""
        return 0 if self.shop else sum(job.minutes for job in self.jobs)


@dataclass(frozen=True, slots=True)
class Week:
    """`rows`, at most seven; `more` are safety jobs that found no room in them, in
    their order; `later` is what need not be done this week."""

    rows: tuple[WeekRow, ...]
    more: tuple[Candidate, ...]
    later: tuple[Candidate, ...]

    @property
    def counted(self) -> Mapping[int, int]:
        """How many of `more` there are of each rank."""
        return Counter(job.rank for job in self.more)


def this_week(
    candidates: Iterable[Candidate], *, today: date, shop_wait: timedelta
) -> Week:
    """Which jobs to do in the seven days from `today` on, and in which order.

    A job belongs to the week when it is overdue, when it is a safety job that is due,
    when it has no record, when its window closes (or, for what is coming, opens) within
    seven days, or, for a shop's work, when its window closes within the shop's usual
    wait and a week: then the shop is called. What is booked belongs to the week of that
    day. What can be told no day is due now. What has no record is one row a rig.

    `candidates` come in the order of Due, without what hangs on a tag.
    """
    wanted: list[Candidate] = []
    later: list[Candidate] = []
    for job in candidates:
        is_now = _is_for(job, today + WEEK, shop_wait)
        (wanted if is_now else later).append(job)
    rows = _rows(wanted)
    shown, over = rows[:ROWS], rows[ROWS:]
    left = [job for row in over for job in row.jobs]
    more = tuple(job for job in left if job.presses)
    rest = [job for job in left if not job.presses]
    return Week(tuple(shown), more, (*rest, *later))


def _is_for(job: Candidate, end: date, shop_wait: timedelta) -> bool:
    if job.booked is not None:
        return job.booked <= end
    if job.unknown or job.rank in {SAFETY_OVERDUE, OVERDUE, SAFETY_DUE}:
        return True
    if job.shop and job.closes is not None and job.closes <= end + shop_wait:
        return True
    ends = job.opens if job.rank == SOON else job.closes
    return ends <= end if ends is not None else job.rank == DUE


def _rows(jobs: Sequence[Candidate]) -> list[WeekRow]:
    """Each row stands where the first of its jobs does; what has no record, where the
    safety among it does."""
    found: dict[Hashable, list[Candidate]] = {}
    for job in jobs:
        found.setdefault(_row_of(job), []).append(job)
    made = [WeekRow(tuple(each)) for each in found.values()]
    return sorted(made, key=lambda row: row.rank)


def _row_of(job: Candidate) -> Hashable:
    if job.unknown:
        return ("unknown", job.rig)
    return (job.rig, job.rank, job.shop, job.booked)
