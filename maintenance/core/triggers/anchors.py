"""Cycles by time and by meter: the window after a base, and anchors that a completion
in the window does not move."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Generic, Protocol, TypeVar

from maintenance.core.dates import InUse, add_span
from maintenance.core.facts import Span, Unit

# A point is a day or a true value; an interval leads from one to a later one.
PointT = TypeVar("PointT", date, Decimal)
IntervalT = TypeVar("IntervalT")

MOST_LEAD: dict[Unit, Decimal] = {
    "mi": Decimal(500),
    "km": Decimal(800),
    "h": Decimal(25),
}
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

    def opens(
        self, previous: PointT, closes: PointT, interval: IntervalT
    ) -> PointT: ...


@dataclass(frozen=True, slots=True)
class MeterAxis:
    """True values of a meter in `unit`."""

    unit: Unit

    @property
    def none(self) -> Decimal:
        return Decimal(0)

    def plus(self, gone: Decimal, interval: Decimal) -> Decimal:
        return gone + interval

    def at(self, point: Decimal, gone: Decimal) -> Decimal:
        return point + gone

    def whole(self, start: Decimal, end: Decimal, interval: Decimal) -> int:
        return max(0, int((end - start) // interval))

    def times(self, interval: Decimal, count: int) -> Decimal:
        return interval * count

    def opens(self, previous: Decimal, closes: Decimal, interval: Decimal) -> Decimal:
        """10 % of the interval before closes, at most 500 mi, 800 km or 25 h."""
        return closes - min(interval / 10, MOST_LEAD[self.unit])


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Calendar days; with `in_use`, days in stays do not count."""

    in_use: InUse | None = None

    @property
    def none(self) -> Span:
        return Span()

    def plus(self, gone: Span, interval: Span) -> Span | None:
        # Days and months do not mix: 31 Jan + 1 month + 30 days depends on the order.
        if (gone.days and interval.months) or (gone.months and interval.days):
            return None
        return Span(gone.days + interval.days, gone.months + interval.months)

    def at(self, point: date, gone: Span) -> date | None:
        if self.in_use is not None:
            return self.in_use.add(point, gone.days)
        return add_span(point, gone)

    def whole(self, start: date, end: date, interval: Span) -> int:
        if interval.months:
            months = (end.year - start.year) * 12 + end.month - start.month
            return max(0, (months - 1) // interval.months)
        counted = (end - start).days
        if self.in_use is not None:
            counted = self.in_use.days(start, end)
        return max(0, counted // interval.days)

    def times(self, interval: Span, count: int) -> Span:
        return Span(interval.days * count, interval.months * count)

    def opens(self, previous: date, closes: date, interval: Span) -> date:
        """10 % of the days before closes, rounded down, at least 1 and at most 30."""
        counted = (closes - previous).days if self.in_use is None else interval.days
        return closes - timedelta(days=lead_days(counted))


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
            opens = axis.opens(previous, closes, interval)
            kept = replace(anchor, gone=gone)
            return Cycle(previous, opens, closes, last, kept)
        last = closes
    return None
