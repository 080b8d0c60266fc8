"""This week, as rows: the core chooses, here it gets its words."""

from collections.abc import Collection, Hashable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from maintenance.core import this_week as core
from maintenance.core.words import counted
from maintenance.library.model import Procedure
from maintenance.plans.models import Standing, StandingName
from maintenance.plans.rows import Row, row_of
from maintenance.ui.words import WHO_WORDS, day_words, minutes_words

from .facts import DueFacts

NAMES = 3  # of a row's jobs that its title gives


@dataclass(frozen=True)
class WeekLine:
    """A row of this week. `rows` are its jobs; `rig_id` and `unknown` lead to where
    what has no record is told."""

    title: str
    rig: str
    rig_id: int
    minutes: str
    who: str
    place: str
    safety: bool
    more: str
    standing: str
    when: str
    unknown: bool
    rows: tuple[Row, ...]

    @property
    def one(self) -> Row | None:
        return self.rows[0] if len(self.rows) == 1 else None


@dataclass(frozen=True)
class WeekShown:
    """`over` are the safety jobs that found no room, `over_words` how they stand."""

    lines: list[WeekLine]
    over: list[Row]
    over_words: str
    chosen: core.Week

    @property
    def in_it(self) -> set[int]:
        """The items that stand in it."""
        jobs = [row.item.pk for line in self.lines for row in line.rows]
        return {*jobs, *(row.item.pk for row in self.over)}


def week_of(facts: DueFacts, left_out: Collection[int]) -> WeekShown:
    """`left_out`: items that hang on a tag."""
    asked: dict[Hashable, Standing] = {
        x.item_id: x for x in facts.standings if x.item_id not in left_out
    }
    end = facts.today + core.WEEK
    wait = timedelta(days=facts.household.shop_wait_days)
    chosen = core.this_week(
        [
            _candidate(x, facts)
            for x in asked.values()
            if x.rank in RANKS and not put_off(x, end)
        ],
        today=facts.today,
        shop_wait=wait,
    )
    lines = [_line(row, asked, facts) for row in chosen.rows]
    over = [row_of(asked[job.key], facts.today) for job in chosen.more]
    return WeekShown(lines, over, _over_words(chosen), chosen)


RANKS = range(core.SAFETY_OVERDUE, core.SOON + 1)
CALL = 10  # minutes that a call to a shop takes; a choice of ours


def put_off(standing: Standing, end: date) -> bool:
    """Somebody put it off beyond the week, to a day or to a meter's value."""
    until = standing.deferred_until
    by_meter = until is None and standing.deferred_until_value is not None
    return by_meter or (until is not None and until > end)


def _candidate(standing: Standing, facts: DueFacts) -> core.Candidate:
    item = standing.item
    procedure = facts.procedures.get(item.key)
    return core.Candidate(
        key=item.pk,
        rig=item.rig_id,
        rank=standing.rank,
        safety=item.safety,
        opens=standing.opens_on,
        closes=standing.closes_on,
        shop=procedure is not None and procedure.by_shop,
        minutes=procedure.minutes if procedure else 0,
    )


def _line(
    row: core.WeekRow, asked: Mapping[Hashable, Standing], facts: DueFacts
) -> WeekLine:
    standings = [asked[job.key] for job in row.jobs]
    item = standings[0].item
    rows = tuple(row_of(one, facts.today) for one in standings)
    stay = facts.states[item.rig_id].stay
    return WeekLine(
        title=_title(row, rows),
        rig=item.rig.name,
        rig_id=item.rig_id,
        minutes=_minutes(row),
        who=_who(row, facts.procedures.get(item.key)),
        place=stay.place if stay is not None else "",
        safety=row.safety,
        more=counted(len(rows), "job") if len(rows) > 1 else "",
        standing=rows[0].standing,
        when=_when(row, rows),
        unknown=row.unknown,
        rows=rows,
    )


def _minutes(row: core.WeekRow) -> str:
    if _is_many(row):
        return ""
    if _is_call(row):
        return f"{CALL} min call"
    return minutes_words(sum(job.minutes for job in row.jobs))


def _title(row: core.WeekRow, rows: tuple[Row, ...]) -> str:
    if len(rows) == 1 and not _is_call(row):
        return rows[0].title
    if row.unknown:
        return f"Tell us about {counted(len(rows), 'job')} without a record"
    names = [one.item.short for one in rows]
    shown = ", ".join(names[:NAMES])
    more = f" and {len(names) - NAMES} more" if len(names) > NAMES else ""
    return f"{'Call a shop: ' if _is_call(row) else ''}{shown}{more}"


def _is_call(row: core.WeekRow) -> bool:
    return row.shop and not row.unknown and row.booked is None


def _who(row: core.WeekRow, procedure: Procedure | None) -> str:
    if _is_many(row):
        return ""
    return WHO_WORDS[procedure.who] if procedure else ""


def _when(row: core.WeekRow, rows: tuple[Row, ...]) -> str:
    if row.booked is not None:
        return f"at the shop {day_words(row.booked)}"
    if row.unknown:
        return "safety first" if row.safety else ""
    return rows[0].when


STANDS = {
    core.SAFETY_OVERDUE: StandingName.OVERDUE,
    core.SAFETY_DUE: StandingName.DUE,
    core.SAFETY_UNKNOWN: StandingName.UNKNOWN,
}


def _over_words(week: core.Week) -> str:
    """“4 overdue, 4 due”."""
    found = sorted(week.counted.items())
    return ", ".join(f"{n} {STANDS[rank].label.lower()}" for rank, n in found)


def _is_many(row: core.WeekRow) -> bool:
    """Several jobs without a record: their work is told, not done."""
    return row.unknown and len(row.jobs) > 1
