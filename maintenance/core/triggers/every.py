"""Every so far and every so long: by a meter, by the calendar, or by days in use."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Generic

from maintenance.core.dates import add_span
from maintenance.core.facts import EveryMeter, EveryTime, Fact, Span, TriggerKind
from maintenance.core.rigday import RigDay
from maintenance.core.triggers.anchors import (
    Anchor,
    Axis,
    Cycle,
    IntervalT,
    MeterAxis,
    PointT,
    TimeAxis,
    next_cycle,
)
from maintenance.core.triggers.windows import (
    Base,
    DayWindow,
    Found,
    History,
    Lack,
    ValueWindow,
    done_base,
)
from maintenance.core.units import convert
from maintenance.core.why import (
    happened,
    meter_rule,
    plan_passed,
    time_rule,
    window_of_days,
    window_of_values,
)


@dataclass(frozen=True, slots=True)
class Rule(Generic[PointT, IntervalT]):
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
        self, day: RigDay, begun: date, end: date, *, none_done: bool
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
    day: RigDay, history: History, rule: Rule[PointT, IntervalT]
) -> Counted[PointT, IntervalT] | None:
    """The cycle that runs now; None without a base."""
    anchored = history.item.anchored
    done = history.after_baseline() if anchored else history.last_of_day()
    bases = [(one, rule.place(one)) for one in map(done_base, done)]
    bases.sort(key=lambda pair: (pair[0].on, pair[1] is not None, pair[1] or 0))
    baseline = history.baseline_base()
    if baseline is not None and (anchored or not bases):
        bases.insert(0, (baseline, rule.place(baseline)))
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
    day: RigDay,
    rule: Rule[PointT, IntervalT],
    bases: Sequence[tuple[Base, PointT | None]],
) -> Anchor[PointT, IntervalT] | None:
    """The anchor that a row of bases leaves.

    A completion at or after opens keeps the anchor, one before opens is the new one.
    One without a figure leaves none, until the next that has one.
    """
    anchor: Anchor[PointT, IntervalT] | None = None
    begun = bases[0][0]
    for base, point in bases:
        cycle = None
        if anchor is not None and point is not None:
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


# --- by a meter ----------------------------------------------------------------------


def every_meter(day: RigDay, history: History, trigger: EveryMeter) -> Found:
    """Closes at base + interval; opens 10 % of it, at most 500 mi, before."""
    meter = trigger.meter
    track = day.tracks[meter]
    kind: TriggerKind = "every_hours" if track.unit == "h" else "every_distance"
    counted = count_cycle(day, history, _meter_rule(day, trigger))
    if counted is None:
        return Found(lacks=(Lack(kind, (Fact("no_record", {}),)),))
    base = counted.base
    facts = [
        *happened(
            base.kind,
            day,
            on=base.on,
            until=base.until,
            values=base.values,
            meter=None if base.carried else meter,
        ),
        *_brought(day, base, meter),
    ]
    cycle = counted.cycle
    if cycle is None:
        facts.append(Fact("no_value_then", {"meter": meter, "on": base.on}))
        return Found(lacks=(Lack(kind, tuple(facts)),))
    if track.known is None:
        facts.append(Fact("no_reading", {"meter": meter}))
        return Found(lacks=(Lack(kind, tuple(facts)),))
    facts.append(_meter_fact(trigger, counted.cause))
    if counted.anchor is not None and counted.anchor.after is not None:
        facts.append(
            Fact(
                "anchor_kept",
                {"value": track.scale.shown(cycle.previous), "unit": track.unit},
            )
        )
    facts.append(window_of_values(day, meter, cycle.opens, cycle.closes))
    window = ValueWindow(
        kind, meter, cycle.opens, cycle.closes, base.on, why=tuple(facts)
    )
    return Found((window,))


def _brought(day: RigDay, base: Base, meter: str) -> tuple[Fact, ...]:
    """What the part had behind it when it came to this rig."""
    carried = base.carried
    if carried is None or meter not in carried.used:
        return ()
    begun = day.value_at(meter, carried.on, carried.values)[0]
    track = day.tracks[meter]
    return (
        Fact(
            "carried",
            {
                "on": carried.on,
                "used": carried.used[meter],
                "value": None if begun is None else track.scale.shown(begun),
                "unit": track.unit,
            },
        ),
    )


def _meter_rule(day: RigDay, trigger: EveryMeter) -> Rule[Decimal, Decimal]:
    unit = day.tracks[trigger.meter].unit

    def own(interval: Decimal | None) -> Decimal | None:
        if interval is None or trigger.unit == unit:
            return interval
        return convert(interval, trigger.unit, unit)

    return Rule(
        MeterAxis(unit),
        own(trigger.interval) or trigger.interval,
        own(trigger.first),
        own(trigger.severe),
        lambda base: _value_of(day, trigger.meter, base),
        lambda one, other, _begun: min(one, other),
    )


def _value_of(day: RigDay, meter: str, base: Base) -> Decimal | None:
    """Where a base lies on the meter: for a part that came from another rig, as far
    back as it had been used by then."""
    carried = base.carried
    if carried is None:
        return day.value_at(meter, base.on, base.values)[0]
    begun = day.value_at(meter, carried.on, carried.values)[0]
    gone = carried.used.get(meter)
    return None if begun is None or gone is None else begun - gone


def _day_of(day: RigDay, base: Base, *, in_use: bool) -> date:
    if base.carried is None or not in_use:
        return base.on
    return day.in_use.back(base.carried.on, base.carried.days_in_use)


def _meter_fact(trigger: EveryMeter, cause: str) -> Fact:
    """The rule in its own unit, not the meter's: so the owner knows it."""
    replaced = {"first": trigger.first, "severe": trigger.severe}.get(cause)
    interval = trigger.interval if replaced is None else replaced
    return meter_rule(trigger.meter, trigger.unit, interval, cause)


# --- by time -------------------------------------------------------------------------


def every_time(day: RigDay, history: History, trigger: EveryTime) -> Found:
    """Closes at base + interval; opens 10 % of the days, 1 to 30, before."""
    rule = Rule(
        TimeAxis(day.in_use if trigger.in_use else None),
        trigger.interval,
        trigger.first,
        trigger.severe,
        lambda base: _day_of(day, base, in_use=trigger.in_use),
        lambda one, other, on: min(one, other, key=lambda span: add_span(on, span)),
    )
    counted = count_cycle(day, history, rule)
    if counted is None:
        return Found(lacks=(Lack("every_time", (Fact("no_record", {}),)),))
    base, cycle = counted.base, counted.cycle
    facts = [
        *happened(base.kind, day, on=base.on, until=base.until, values={}, meter=None),
        time_rule(counted.interval, counted.cause, trigger.in_use),
    ]
    if cycle is None:
        return Found(idle=(*facts, Fact("clock_stands", {}), *plan_passed(day)))
    if counted.anchor is not None and counted.anchor.after is not None:
        facts.append(Fact("anchor_kept", {"on": cycle.previous}))
    facts.append(window_of_days(cycle.opens, cycle.closes))
    window = DayWindow(
        "every_time",
        cycle.opens,
        cycle.closes,
        interval_days=_interval_days(counted.interval, cycle),
        why=tuple(facts),
    )
    return Found((window,))


def _interval_days(interval: Span, cycle: Cycle[date, Span]) -> int:
    return interval.days or (cycle.closes - cycle.last).days
