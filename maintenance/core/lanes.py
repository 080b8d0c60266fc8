"""The next 60 days of one rig as a lane: windows while there are few of them, blocks by
the week in which they close where there are many."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

MOST = 3  # windows within four weeks, until they become blocks
CROWD = timedelta(days=28)
WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Span:
    """The window of one job, by date or as is likely, both days included."""

    name: str
    opens: date
    closes: date
    shop: bool = False
    safety: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """What closes in one week: `begins` is the first day of that week."""

    begins: date
    names: tuple[str, ...]
    safety: bool
    shop: bool  # all of it is a shop's
    now: bool  # this week

    @property
    def ends(self) -> date:
        return self.begins + timedelta(days=6)


@dataclass(frozen=True, slots=True)
class Lane:
    """Either `windows`, the longest first, so that those closing sooner lie over them,
    or `blocks`. `overdue` are names of what closed before today."""

    windows: tuple[Span, ...] = ()
    blocks: tuple[Block, ...] = ()
    overdue: tuple[str, ...] = ()


def lane_of(
    spans: Iterable[Span], *, today: date, last: date, first_weekday: int
) -> Lane:
    """`last` is the last day shown, `first_weekday` that of a week, 0 for Monday.

    More than three windows that close within four weeks become blocks, all of the
    lane. A window that closes after `last` is drawn, and counts for no crowd.
    """
    ordered = sorted(spans, key=lambda one: (one.closes, one.opens, one.name))
    overdue = tuple(one.name for one in ordered if one.closes < today)
    shown = [one for one in ordered if one.closes >= today and one.opens <= last]
    closing = [one for one in shown if one.closes <= last]
    if not _is_crowded(closing):
        return Lane(windows=tuple(reversed(shown)), overdue=overdue)
    return Lane(
        blocks=tuple(_blocks(closing, today, first_weekday)),
        overdue=overdue,
    )


def _is_crowded(closing: Sequence[Span]) -> bool:
    """`closing` by the day of closing."""
    pairs = zip(closing, closing[MOST:], strict=False)
    return any(later.closes - one.closes < CROWD for one, later in pairs)


def week_begin(day: date, first_weekday: int) -> date:
    return day - timedelta(days=(day.weekday() - first_weekday) % 7)


def _blocks(
    closing: Iterable[Span], today: date, first_weekday: int
) -> Iterable[Block]:
    weeks: dict[date, list[Span]] = {}
    for one in closing:
        weeks.setdefault(week_begin(one.closes, first_weekday), []).append(one)
    this = week_begin(today, first_weekday)
    for begins, jobs in weeks.items():
        yield Block(
            begins=begins,
            names=tuple(one.name for one in jobs),
            safety=any(one.safety for one in jobs),
            shop=all(one.shop for one in jobs),
            now=begins == this,
        )
