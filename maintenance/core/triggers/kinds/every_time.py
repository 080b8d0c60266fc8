"""Every so long: by the calendar, or by days in use."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from maintenance.core.dates import InUse, add_span
from maintenance.core.facts import Fact, FactError, Span
from maintenance.core.fields import Fields, as_choice
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.cycles import (
    Cycle,
    Intervals,
    count_cycle,
    lead_days,
)
from maintenance.core.triggers.kind import DAYS, Kind, Units, YearOfUse
from maintenance.core.triggers.plain import (
    MOST_TIME,
    inner,
    per_year,
    replacing,
    span,
    span_data,
    too_long,
)
from maintenance.core.triggers.windows import (
    Base,
    DayWindow,
    History,
    MissingInput,
    WindowResult,
)
from maintenance.core.why import happened, plan_passed, window_of_days

NAME = "every_time"  # of its windows


@dataclass(frozen=True, slots=True)
class EveryTime(Kind):
    """Closes at base + interval; opens 10 % of the days, 1 to 30, before."""

    key = "every"
    told_by = tuple(MOST_TIME)
    beside = ("first", "severe", "clock")
    hangs_on = "work"
    interval: Span
    first: Span | None = None
    severe: Span | None = None
    in_use: bool = False  # days in stays do not count; for days only

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        found = inner(fields, cls.key)
        interval, place = span(found), fields.at("clock")
        clock = fields.get("clock") or "calendar"
        in_use = as_choice(clock, place, ("calendar", "in_use")) == "in_use"
        first = replacing(fields, "first", span)
        severe = replacing(fields, "severe", span)
        found.finish()
        if in_use and any(one.months for one in (interval, first, severe) if one):
            raise FactError(
                place, "only days in use can count: enter the interval in days"
            )
        return cls(interval, first, severe, in_use)

    def to_data(self) -> dict[str, object]:
        found: dict[str, object] = {self.key: span_data(self.interval)}
        if self.in_use:
            found["clock"] = "in_use"
        for name, one in (("first", self.first), ("severe", self.severe)):
            if one is not None:
                found[name] = span_data(one)
        return found

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        counted = count_cycle(day, history, self._intervals(day))
        if counted is None:
            return WindowResult(missing=(MissingInput(NAME, (Fact("no_record", {}),)),))
        base, cycle = counted.base, counted.cycle
        facts = [
            *happened(
                base.kind,
                day,
                on=base.on,
                until=base.until,
                values={},
                meter=None,
                kind=base.event,
            ),
            self._rule(counted.interval, counted.cause),
        ]
        if cycle is None:
            return WindowResult(
                idle=(*facts, Fact("clock_stands", {}), *plan_passed(day))
            )
        if counted.anchor is not None and counted.anchor.after is not None:
            facts.append(Fact("anchor_kept", {"on": cycle.previous}))
        facts.append(window_of_days(cycle.opens, cycle.closes))
        window = DayWindow(
            NAME,
            cycle.opens,
            cycle.closes,
            interval_days=_interval_days(counted.interval, cycle),
            why=tuple(facts),
        )
        return WindowResult((window,))

    def _intervals(self, day: RigTimeline) -> Intervals[date, Span]:
        return Intervals(
            TimeAxis(day.in_use if self.in_use else None),
            self.interval,
            self.first,
            self.severe,
            lambda base: _day_of(day, base, in_use=self.in_use),
            lambda one, other, on: min(one, other, key=lambda span: add_span(on, span)),
        )

    def _rule(self, interval: Span, cause: str) -> Fact:
        """`cause`: "" for the usual interval, "first", "severe"."""
        return Fact(
            "every_time",
            {
                "days": interval.days,
                "months": interval.months,
                "cause": cause,
                "clock": "in_use" if self.in_use else "calendar",
            },
        )

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return per_year(self.interval, DAYS - year.stored_days if self.in_use else DAYS)

    def implausible(self) -> str | None:
        spans = (self.interval, self.first, self.severe)
        return next((why for one in spans if one and (why := too_long(one))), None)

    def time_interval(self) -> Span:
        return self.interval


def _day_of(day: RigTimeline, base: Base, *, in_use: bool) -> date:
    if base.carried is None or not in_use:
        return base.on
    return day.in_use.back(base.carried.on, base.carried.days_in_use)


def _interval_days(interval: Span, cycle: Cycle[date, Span]) -> int:
    return interval.days or (cycle.closes - cycle.last).days


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

    def opens(self, begun: date, closes: date, interval: Span) -> date:
        """10 % of the interval's own days before closes, rounded down, at least 1 and
        at most 30."""
        counted = (closes - begun).days if self.in_use is None else interval.days
        return closes - timedelta(days=lead_days(counted))


KIND = EveryTime
