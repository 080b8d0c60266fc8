"""Putting an item off: until when it may be, and when that is over."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.facts import (
    Fact,
    Item,
    MeterPoint,
    MeterState,
    Point,
    Standing,
    Unit,
)
from maintenance.core.triggers.kinds import FOLLOW_UPS

# The most that a safety item may be put off after its window opens, however often.
# Source: the design of this program, section 4.3.
MOST_DAYS = timedelta(days=30)
MOST_VALUE: dict[Unit, Decimal] = {"mi": Decimal(100), "km": Decimal(160)}


def check_deferral(
    item: Item,
    standing: Standing,
    meters: Mapping[str, MeterState],
    *,
    as_of: date,
    until: Point,
    reason: str,
    by_keeper: bool,
    put_off_since: date | None = None,
) -> tuple[Fact, ...]:
    """What stands against putting an item off; nothing when it may be.

    `until` is a day, or a value as its meter shows it. A safety item is put off by a
    keeper only, at most until 30 days or 100 mi / 160 km after its window opens; a
    follow-up never beyond its closes, nor by another measure than its own.
    `put_off_since` is the day on which it was first put off since its work was last
    done: it counts where no day is known on which the window opened.
    """
    since = put_off_since or as_of
    ends = (
        list(_after_opens(standing, meters, since=since, as_of=as_of))
        if item.safety
        else []
    )
    return (
        *_who_and_why(item, reason, by_keeper=by_keeper),
        *_how_far(item, meters, as_of, until, ends),
        *_follow_ups(standing, meters, until),
    )


def deferral_ends(
    standing: Standing,
    meters: Mapping[str, MeterState],
    *,
    safety: bool,
    put_off_since: date,
    as_of: date,
) -> tuple[Point, ...]:
    """Where a deferral of an item ends at the latest, whatever it was made until."""
    follow_ups = (
        one.window.closes for one in standing.pending if one.kind in FOLLOW_UPS
    )
    if not safety:
        return tuple(follow_ups)
    after_opens = _after_opens(standing, meters, since=put_off_since, as_of=as_of)
    return (*after_opens, *follow_ups)


def deferral_over(
    until: Point, meters: Mapping[str, MeterState], *, as_of: date
) -> bool:
    """Whether the day has come, or the meter shows the value."""
    if isinstance(until, date):
        return as_of >= until
    state = meters.get(until.meter)
    return state is None or (state.known is not None and state.known >= until.value)


def _after_opens(
    standing: Standing,
    meters: Mapping[str, MeterState],
    *,
    since: date,
    as_of: date,
) -> Iterator[Point]:
    """The last day, and the last values, to which a safety item may be put off.

    Where it opens by no meter of distance, so far beyond what each of these showed on
    the day; before that has come nobody knows it.
    """
    opens = standing.window.opens if standing.window else None
    opened = opens if isinstance(opens, date) else since
    yield opened + MOST_DAYS
    most = {
        name: MOST_VALUE[state.unit]
        for name, state in meters.items()
        if state.unit in MOST_VALUE
    }
    if isinstance(opens, MeterPoint) and opens.meter in most:
        yield MeterPoint(opens.meter, opens.value + most[opens.meter])
    elif opened <= as_of:
        for name, distance in most.items():
            value = meters[name].on_day(opened)
            if value is not None:
                yield MeterPoint(name, value + distance)


def _who_and_why(item: Item, reason: str, *, by_keeper: bool) -> Iterator[Fact]:
    if not reason.strip():
        yield Fact("deferral_needs_reason", {})
    if item.safety and not by_keeper:
        yield Fact("deferral_by_keeper_only", {})


def _how_far(
    item: Item,
    meters: Mapping[str, MeterState],
    as_of: date,
    until: Point,
    ends: Sequence[Point],
) -> Iterator[Fact]:
    over = [one for one in ends if deferral_over(one, meters, as_of=as_of)]
    if over:
        yield Fact("deferral_ran_out", {})
    elif isinstance(until, date):
        days = [one for one in ends if isinstance(one, date)]
        if until <= as_of:
            yield Fact("deferral_not_ahead", {"on": as_of})
        elif days and until > min(days):
            yield Fact("deferral_too_long", {"on": min(days)})
    else:
        yield from _how_far_by_value(item, meters, until, ends)


def _how_far_by_value(
    item: Item,
    meters: Mapping[str, MeterState],
    until: MeterPoint,
    ends: Sequence[Point],
) -> Iterator[Fact]:
    state = meters.get(until.meter)
    if state is None or state.known is None:
        yield Fact("deferral_needs_reading", {"meter": until.meter})
        return
    most = MOST_VALUE.get(state.unit)
    if until.value <= state.known:
        yield Fact(
            "deferral_not_ahead_value", {"value": state.known, "unit": state.unit}
        )
    elif item.safety and most is None:
        yield Fact("deferral_by_day_only", {})
    elif item.safety and most is not None:
        farthest = [
            one.value
            for one in ends
            if isinstance(one, MeterPoint) and one.meter == until.meter
        ]
        last = min([*farthest, state.known + most])
        if until.value > last:
            yield Fact("deferral_too_far", {"value": last, "unit": state.unit})


def _follow_ups(
    standing: Standing, meters: Mapping[str, MeterState], until: Point
) -> Iterator[Fact]:
    """Every open follow-up holds; one without a window cannot be put off."""
    if standing.governing in FOLLOW_UPS and standing.window is None:
        yield Fact("deferral_no_window", {})
    for pending in standing.pending:
        if pending.kind not in FOLLOW_UPS:
            continue
        closes = pending.window.closes
        if isinstance(closes, date):
            if not isinstance(until, date) or until > closes:
                yield Fact("deferral_past_day", {"closes": closes})
        elif not _before(until, closes):
            unit = meters[closes.meter].unit
            yield Fact("deferral_past_value", {"closes": closes.value, "unit": unit})


def _before(until: Point, closes: MeterPoint) -> bool:
    return (
        isinstance(until, MeterPoint)
        and until.meter == closes.meter
        and until.value <= closes.value
    )
