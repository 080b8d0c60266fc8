"""A stay on one line: where it stands, its visits, what comes, until it leaves."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from maintenance.core.units import show_number
from maintenance.core.words import counted
from maintenance.ui import bars
from maintenance.ui.words import minutes_words, month_day_words, month_name
from maintenance.vehicles.models import Stay, StayVisit

from .runway_rows import RunwayCard
from .work import AHEAD, BEFORE, Job, StayWork, end_of


@dataclass(frozen=True, slots=True)
class Mark:
    """One entry of the list beside the line; `mark` is the shape before it."""

    when: str
    what: str
    more: str = ""
    mark: str = "later"


@dataclass(frozen=True, slots=True)
class Winter:
    """`start` and `end` are those of the axis that its runways share."""

    start: date
    end: date
    line: bars.Line
    marks: list[Mark]
    says: str


@dataclass(frozen=True, slots=True)
class Look:
    """What comes on one day while it stands."""

    opens: date
    closes: date
    jobs: list[Job]

    @property
    def minutes(self) -> int:
        return sum(job.minutes for job in self.jobs)


def winter_of(
    stay: Stay,
    work: StayWork,
    watch: Sequence[tuple[Job, dict[str, Any]]],
    visits: Sequence[StayVisit],
    today: date,
) -> Winter:
    leaves = end_of(stay, today)
    last = leaves or max(today, stay.start) + AHEAD
    end = last + timedelta(days=max(7, (last - stay.start).days // 12))
    looks = list(_looks(watch))
    windows = [bars.Window(one.opens, one.closes, _word(one)) for one in looks]
    wakes = stay.planned_until if stay.ended_on is None else None
    if leaves and wakes and work.exit:
        opens = max(stay.start, leaves - BEFORE)
        windows.append(bars.Window(opens, leaves, "Wake up"))
    line = bars.line(
        bars.Axis(stay.start, end),
        (stay.start, last),
        windows,
        today,
        ticks=list(_months(stay.start, end)),
        done=[visit.on for visit in visits],
    )
    return Winter(
        start=stay.start,
        end=end,
        line=line,
        marks=[*_visited(visits), *map(_coming, looks), *_leaving(stay, work, leaves)],
        says=_says(stay, work, looks, today),
    )


def _looks(watch: Sequence[tuple[Job, dict[str, Any]]]) -> Iterator[Look]:
    """Jobs of one day together; the first time opens as Due has it, the later times are
    told by their last day alone."""
    days: dict[date, list[Job]] = {}
    opens: dict[date, date] = {}
    for job, rhythm in watch:
        for n, day in enumerate(rhythm["dates"]):
            days.setdefault(day, []).append(job)
            if n == 0 and job.opens_on is not None:
                opens[day] = min(job.opens_on, opens.get(day, day))
    for day in sorted(days):
        yield Look(opens.get(day, day), day, days[day])


def _word(look: Look) -> str:
    return "Look" if len(look.jobs) == 1 else "Visit"


def _coming(look: Look) -> Mark:
    jobs = look.jobs
    what = jobs[0].item.short if len(jobs) == 1 else f"Visit: {len(jobs)} looks"
    when = f"by {month_day_words(look.closes)}"
    return Mark(when, what, minutes_words(look.minutes) if look.minutes else "")


def _visited(visits: Sequence[StayVisit]) -> Iterator[Mark]:
    if visits:
        days = ", ".join(month_day_words(one.on) for one in reversed(visits))
        read = next((one.chassis or one.house for one in visits), "")
        yield Mark(days, "Visited", read, "settled")


def _leaving(stay: Stay, work: StayWork, leaves: date | None) -> Iterator[Mark]:
    if leaves is None:
        return
    when = month_day_words(leaves)
    if stay.ended_on is not None:
        yield Mark(when, "Left storage", mark="settled")
    elif work.exit:
        count, minutes = len(work.exit), sum(job.minutes for job in work.exit)
        more = f"{count} jobs, {minutes_words(minutes)}"
        yield Mark(f"by {when}", "Wake it up and leave", more)
    else:
        yield Mark(when, "Leaves storage")


def _months(start: date, end: date) -> Iterator[tuple[date, str]]:
    """The first of each month; of a long stay every second or third one."""
    firsts = []
    day = start.replace(day=1)
    while day <= end:
        if day > start:
            firsts.append(day)
        day = (day + timedelta(days=32)).replace(day=1)
    step = 1 + len(firsts) // 7
    for first in firsts[::step]:
        yield first, month_name(first, short=True)


def _says(stay: Stay, work: StayWork, looks: Sequence[Look], today: date) -> str:
    """The sentence under the title."""
    if stay.ended_on is not None:
        days = (stay.ended_on - stay.start).days
        return f"{days} days, until {month_day_words(stay.ended_on)}."
    if stay.start > today:
        parts = [f"Starts in {counted((stay.start - today).days, 'day')}"]
    else:
        parts = [f"{counted((today - stay.start).days, 'day')} in"]
        leaves = end_of(stay, today)
        if leaves is not None:
            parts[0] += f", {(leaves - today).days} to go"
    if looks:
        parts.append(f"Next visit by {month_day_words(looks[0].closes)}")
    left = sum(job.open for job in work.entry)
    if left:
        parts.append(f"{counted(left, 'storage job')} left")
    return ". ".join(parts) + "."


def frost_words(stay: Stay) -> str:
    """What cold does to its water, in one sentence; nothing where no cold is told."""
    if stay.lowest is None:
        return ""
    low = f"Lowest {show_number(stay.lowest)} {stay.temperature_unit}"
    at = "32 °F" if stay.temperature_unit == "°F" else "0 °C"
    if stay.winterized:
        return f"{low}. Winterized: {stay.get_water_display().lower()}."
    if stay.water == "heated":
        return f"{low}. Kept heated: below {at} without heat, lines can burst."
    return f"{low}. Not winterized: below {at} lines can burst."


def lasting(cards: Sequence[RunwayCard]) -> list[RunwayCard]:
    """Those that have a bar."""
    return [card for card in cards if card.lasts is not None]
