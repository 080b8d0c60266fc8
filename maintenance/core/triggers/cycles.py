"""Cycles by time and by meter: the window after a base, and anchors that a completion
in the window does not move."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Generic, Protocol, TypeVar

from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.windows import (
    Base,
    History,
    done_base,
    renewed_base,
)

# A point is a day or a true value; an interval leads from one to a later one.
PointT = TypeVar("PointT", date, Decimal)
IntervalT = TypeVar("IntervalT")

MOST_LEAD_DAYS = 30


class Axis(Protocol[PointT, IntervalT]):
    """How to step along days or along a meter."""

    @property
    def none(self) -> IntervalT: ...

    def plus(self, gone: IntervalT, interval: IntervalT) -> IntervalT | None:
        """Both together; None when they cannot be counted as one."""

    def at(self, point: PointT, gone: IntervalT) -> PointT | None:
        """The point that lies `gone` after another; None: never."""

    def whole(self, start: PointT, end: PointT, interval: IntervalT) -> int:
        """A number of whole intervals that surely lie in between."""

    def times(self, interval: IntervalT, count: int) -> IntervalT: ...

    def opens(self, begun: PointT, closes: PointT, interval: IntervalT) -> PointT:
        """Where the window opens of an interval that has begun at a point."""


def lead_days(days: int) -> int:
    return min(max(days // 10, 1), MOST_LEAD_DAYS)


@dataclass(frozen=True, slots=True)
class Anchor(Generic[PointT, IntervalT]):
    """Where intervals are counted from, and how far the previous closes lies from it.

    Counting from the anchor itself keeps the 31st the 31st. `after`: the completion
    that the next closes has to lie after.
    """

    point: PointT
    gone: IntervalT
    after: PointT | None = None


@dataclass(frozen=True, slots=True)
class Cycle(Generic[PointT, IntervalT]):
    """A window, the closes before it, the start of its last interval, and the anchor
    that a completion in the window leaves."""

    previous: PointT
    opens: PointT
    closes: PointT
    last: PointT
    anchor: Anchor[PointT, IntervalT]


def next_cycle(
    axis: Axis[PointT, IntervalT],
    anchor: Anchor[PointT, IntervalT],
    interval: IntervalT,
) -> Cycle[PointT, IntervalT] | None:
    """The window that follows: whole intervals on, at least one, until it closes after
    the last completion. None when it never comes."""
    previous = axis.at(anchor.point, anchor.gone)
    if previous is None:
        return None
    if axis.plus(anchor.gone, interval) is None:
        anchor = replace(anchor, point=previous, gone=axis.none)
    after = anchor.after
    skip = 0 if after is None else axis.whole(previous, after, interval)
    gone = axis.plus(anchor.gone, axis.times(interval, skip))
    last = axis.at(anchor.point, gone) if gone is not None else None
    while gone is not None and last is not None:
        gone = axis.plus(gone, interval)
        closes = axis.at(anchor.point, gone) if gone is not None else None
        if gone is None or closes is None:
            break
        if after is None or closes > after:
            opens = axis.opens(last, closes, interval)
            kept = replace(anchor, gone=gone)
            return Cycle(previous, opens, closes, last, kept)
        last = closes
    return None


@dataclass(frozen=True, slots=True)
class Intervals(Generic[PointT, IntervalT]):
    """An interval with what may replace it, on an axis.

    `place` puts a base on the axis (None: it has no figure there); `least` picks the
    smaller of two intervals that begin on a day.
    """

    axis: Axis[PointT, IntervalT]
    usual: IntervalT
    first: IntervalT | None
    severe: IntervalT | None
    place: Callable[[Base], PointT | None]
    least: Callable[[IntervalT, IntervalT, date], IntervalT]

    def interval(
        self, day: RigTimeline, begun: date, end: date, *, none_done: bool
    ) -> tuple[IntervalT, str]:
        """The interval of the cycle from `begun` to `end`, and why: "" the usual one,
        "first" or "severe"."""
        first = self.first if none_done else None
        severe = self.severe
        if severe is not None and not day.severe_between(begun, end):
            severe = None
        if first is None or severe is None:
            if severe is not None:
                return severe, "severe"
            return (self.usual, "") if first is None else (first, "first")
        least = self.least(first, severe, begun)
        return least, "first" if least == first else "severe"


@dataclass(frozen=True, slots=True)
class Counted(Generic[PointT, IntervalT]):
    """The base, the anchor it left (None: no figure), and the cycle that runs."""

    base: Base
    anchor: Anchor[PointT, IntervalT] | None
    interval: IntervalT
    cause: str
    cycle: Cycle[PointT, IntervalT] | None


def count_cycle(
    day: RigTimeline, history: History, rule: Intervals[PointT, IntervalT]
) -> Counted[PointT, IntervalT] | None:
    """The cycle that runs now; None without a base."""
    anchored = history.item.anchored
    done = history.after_baseline() if anchored else history.last_of_day()
    baseline = history.baseline_base()
    found: list[Base] = []
    if baseline is not None and (anchored or not done):
        found.append(baseline)
    found += [renewed_base(one) for one in history.renewed]
    found += [done_base(one) for one in done]
    bases = [(one, rule.place(one)) for one in found]
    # On one day the work comes after what renewed the unit, where figures do not tell.
    bases.sort(key=lambda pair: (pair[0].on, pair[1] is not None, pair[1] or 0))
    if not bases:
        return None
    if not anchored:
        bases = bases[-1:]
    anchor = _anchor(day, rule, bases)
    base = bases[-1][0]
    interval, cause = rule.interval(
        day, base.on, day.as_of, none_done=base.kind != "done"
    )
    cycle = None if anchor is None else next_cycle(rule.axis, anchor, interval)
    return Counted(base, anchor, interval, cause, cycle)


def _anchor(
    day: RigTimeline,
    rule: Intervals[PointT, IntervalT],
    bases: Sequence[tuple[Base, PointT | None]],
) -> Anchor[PointT, IntervalT] | None:
    """The anchor that a row of bases leaves.

    A completion at or after opens keeps the anchor, one before opens is the new one,
    and so is a new unit. One without a figure leaves none, until the next that has one.
    """
    anchor: Anchor[PointT, IntervalT] | None = None
    begun = bases[0][0]
    for base, point in bases:
        cycle = None
        if anchor is not None and point is not None and base.kind == "done":
            interval, _cause = rule.interval(
                day, begun.on, base.on, none_done=begun.kind != "done"
            )
            cycle = next_cycle(rule.axis, anchor, interval)
        if point is None:
            anchor = None
        elif cycle is not None and point >= cycle.opens:
            anchor = replace(cycle.anchor, after=point)
        else:
            anchor = Anchor(point, rule.axis.none)
        begun = base
    return anchor
