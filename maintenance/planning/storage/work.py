"""The work of a stay in the order in which it is sensibly, and safely, done."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from itertools import groupby
from typing import Any

from maintenance.library.model import Procedure
from maintenance.library.order import run_order
from maintenance.library.reading import load_library
from maintenance.plans.models import COMPLETING, Completion, PlanItem, Standing
from maintenance.plans.queries import asked_in_stay, plan_of, procedures_of
from maintenance.plans.rows import Row, row_of
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Stay
from maintenance.vehicles.runways import FROST

AHEAD = timedelta(days=180)  # how far it is told where no end is known
FREEZE = "freeze"  # an event
BEFORE = timedelta(days=14)  # how early work counts for a stay's start and end


@dataclass(frozen=True)
class Job:
    """One piece of work of a stay. `was_due` is the day on which it should have been
    done, if that has passed and it is not. `safety`: the rig stays where it is until it
    is done."""

    item: PlanItem
    row: Row
    minutes: int
    done_on: date | None
    was_due: date | None = None
    next_on: date | None = None  # of what comes again: by when it is to be done
    opens_on: date | None = None  # of its window as it stands
    who: str = "owner"  # as the library has it
    safety: bool = False

    @property
    def open(self) -> bool:
        return self.done_on is None

    @property
    def was_due_words(self) -> str:
        return f"was due by {day_words(self.was_due)}" if self.was_due else ""


@dataclass(frozen=True)
class StayWork:
    """The work of a stay by its time; `during` is what else falls due meanwhile."""

    entry: list[Job]
    watch: list[Job]
    exit: list[Job]
    during: list[Row]

    @property
    def entry_left(self) -> list[Job]:
        return [job for job in self.entry if job.open]

    @property
    def entry_done(self) -> list[Job]:
        return [job for job in self.entry if not job.open]

    @property
    def entry_done_on(self) -> date | None:
        return max((job.done_on for job in self.entry if job.done_on), default=None)

    @property
    def entry_minutes(self) -> int:
        return sum(job.minutes for job in self.entry if job.open)

    @property
    def fell_due(self) -> list[Row]:
        """Of what falls due during the stay, what has by now."""
        return [row for row in self.during if row.standing in {"overdue", "due"}]

    @property
    def unsafe(self) -> list[Job]:
        """What safety asks before the rig is used again, and is not done."""
        return [job for job in self.exit if job.safety and job.open]


def stay_work(stay: Stay, today: date) -> StayWork:
    """In a few queries, however long the plan."""
    standings = list(plan_of(stay.rig))
    procedures, done = procedures_of(stay.rig.household), _completions(stay)
    in_stay = {
        item: [on for on in days if stay.ended_on is None or on <= stay.ended_on]
        for item, days in done.items()
    }
    end = end_of(stay, today)
    last = max(end or today + AHEAD, stay.start)
    # It may leave sooner than planned: what was done lately counts for leaving now,
    # but nothing from before it was put away.
    leaves = max(min(end or today, today), stay.start + BEFORE)
    maker = _Maker(stay, today, procedures, in_stay)
    at_end = _Maker(stay, today, procedures, done)
    entry = maker.entry(standings)
    leaving = at_end.jobs(standings, "storage_exit", leaves)
    leaving += at_end.after_frost(standings, leaves)
    watch = maker.jobs(standings, "while_stored", stay.start + BEFORE)
    of_stay = {job.item.pk for job in (*entry, *leaving, *watch)}
    return StayWork(
        entry=_in_order(entry, "entry"),
        watch=watch,
        exit=_in_order(leaving, "exit"),
        during=[
            row_of(one, today)
            for one in standings
            if one.item_id not in of_stay
            and one.closes_on is not None
            and stay.start <= one.closes_on <= last
        ],
    )


def end_of(stay: Stay, today: date) -> date | None:
    """Actual or planned; a planned end that has passed is void."""
    if stay.ended_on is not None:
        return stay.ended_on
    planned = stay.planned_until
    return planned if planned is not None and planned >= today else None


def _completions(stay: Stay) -> dict[int, list[date]]:
    """Item id -> the days on which it was done, without those of a later stay."""
    found: dict[int, list[date]] = {}
    rows = Completion.objects.filter(
        item__rig=stay.rig, withdrawn=False, outcome__in=COMPLETING
    )
    later = stay.rig.stays.filter(withdrawn=False, start__gt=stay.start)
    if (then := later.order_by("start").first()) is not None:
        rows = rows.filter(on__lt=max(then.start - BEFORE, stay.ended_on or then.start))
    for item, on in rows.order_by("on").values_list("item", "on"):
        found.setdefault(item, []).append(on)
    return found


def _in_order(jobs: list[Job], when: str) -> list[Job]:
    """As safety asks, place by place; the household's own work comes last."""
    library = load_library()
    jobs = sorted(jobs, key=lambda job: job.item.pk)
    keys = run_order(library, (job.item.key for job in jobs), f"storage-{when}")
    order = {key: n for n, key in enumerate(keys)}
    places = _places(when)
    return sorted(
        jobs,
        key=lambda job: (places.get(job.item.key, (99, ""))[0], order[job.item.key]),
    )


@cache
def _places(when: str) -> dict[str, tuple[int, str]]:
    """Procedure -> the place of its work: which in the walk, and its name."""
    walk = [place for place in load_library().stay if place.when == when]
    return {
        key: (n, place.title)
        for n, place in enumerate(walk)
        for key in place.procedures
    }


@dataclass(frozen=True)
class PlaceOfWork:
    """What is done at one place of the walk."""

    title: str
    jobs: list[Job]

    @property
    def open(self) -> list[Job]:
        return [job for job in self.jobs if job.open]

    @property
    def minutes(self) -> int:
        return sum(job.minutes for job in self.open)


def by_place(jobs: Iterable[Job], when: str) -> list[PlaceOfWork]:
    """In the order given, which is that of the walk."""
    places = _places(when)
    return [
        PlaceOfWork(title, list(some))
        for title, some in groupby(
            jobs, key=lambda job: places.get(job.item.key, (99, "Your own"))[1]
        )
    ]


@dataclass(frozen=True)
class _Maker:
    stay: Stay
    today: date
    procedures: Mapping[str, Procedure]
    done: Mapping[int, list[date]]

    def entry(self, standings: Iterable[Standing]) -> list[Job]:
        """What the stay asks at its start; nothing of what it is too short for."""
        end = end_of(self.stay, self.today)
        found = []
        for one in standings:
            rule = _rule(one.item, "storage_entry")
            if rule is None:
                continue
            by = self.stay.start + timedelta(days=rule.get("by_day", 0))
            if end is None or by <= end:
                lead = timedelta(days=rule.get("lead", 0))
                since = self.stay.start - max(BEFORE, lead)
                found.append(self._job(one, since, by))
        return [*found, *self._against_frost(standings)]

    def _against_frost(self, standings: Iterable[Standing]) -> Iterator[Job]:
        """It goes by the season; a stay in frost asks for it too, until its water is
        safe. Done before, it counts only from two weeks before the stay on: water that
        was used since is in the lines again."""
        for one in standings:
            procedure = self.procedures.get(one.item.key)
            if procedure is None or procedure.runway != FROST:
                continue
            if _rule(one.item, "storage_entry"):
                continue
            job = self._job(one, self.stay.start - BEFORE, self.stay.start)
            if job.done_on is not None or self.stay.water_freezes:
                yield job

    def after_frost(self, standings: Iterable[Standing], day: date) -> list[Job]:
        """What a freeze asks: the looks that come before any water is run."""
        if not self.stay.water_freezes:
            return []
        return [
            self._job(one, day - BEFORE)
            for one in standings
            if (procedure := self.procedures.get(one.item.key))
            and procedure.follows(FREEZE)
            and not _rule(one.item, "storage_exit")
        ]

    def jobs(self, standings: Iterable[Standing], kind: str, day: date) -> list[Job]:
        """Items that a rule of this kind asks for. Work from two weeks before `day` on
        counts."""
        return [
            self._job(one, day - BEFORE)
            for one in standings
            if self._asks(_rule(one.item, kind))
        ]

    def _asks(self, rule: Mapping[str, Any] | None) -> bool:
        if rule is None:
            return False
        if not rule.get("unless_winterized"):
            return True
        return not (self.stay.winterized or self.stay.water_freezes)

    def _job(self, one: Standing, since: date, by: date | None = None) -> Job:
        days = [on for on in self.done.get(one.item_id, []) if on >= since]
        late = by is not None and by < self.today and not self.stay.ended_on
        procedure = self.procedures.get(one.item.key)
        again = one.governing == "while_stored"
        return Job(
            item=one.item,
            row=row_of(one, self.today),
            minutes=procedure.minutes if procedure else 0,
            who=procedure.who if procedure else "owner",
            done_on=days[-1] if days else None,
            was_due=by if late and not days else None,
            next_on=one.closes_on if again else None,
            opens_on=one.opens_on,
            # A plan taken on before the library called it safety is held to it too.
            safety=one.item.safety or bool(procedure and procedure.safety),
        )


def _rule(item: PlanItem, kind: str) -> dict[str, Any] | None:
    return next((rule[kind] for rule in item.triggers if kind in rule), None)


def watch_days(stay: Stay, item: PlanItem) -> int | None:
    """Every how many days this stay has the rig looked at for `item`."""
    asked = asked_in_stay(stay.rhythm, item.key)
    rule = _rule(item, "while_stored")
    usual = rule["days"] if rule else None
    if asked is None or usual is None:
        return usual
    return min(usual, int(asked["days"]))
