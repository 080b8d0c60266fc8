"""Putting an item off: until when it may be, and when that is over."""

from collections.abc import Iterator, Mapping
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

# The most that a safety item may be put off, from today and the last reading.
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
) -> tuple[Fact, ...]:
    """What stands against putting an item off; nothing when it may be.

    `until` is a day, or a value as its meter shows it. A safety item is put off by a
    keeper only, by at most 30 days or 100 mi / 160 km; a follow-up never beyond its
    closes, nor by another measure than its own.
    """
    return (
        *_who_and_why(item, reason, by_keeper=by_keeper),
        *_how_far(item, meters, as_of, until),
        *_follow_ups(standing, meters, until),
    )


def deferral_over(
    until: Point, meters: Mapping[str, MeterState], *, as_of: date
) -> bool:
    """Whether the day has come, or the meter shows the value."""
    if isinstance(until, date):
        return as_of >= until
    state = meters.get(until.meter)
    return state is None or (state.known is not None and state.known >= until.value)


def _who_and_why(item: Item, reason: str, *, by_keeper: bool) -> Iterator[Fact]:
    if not reason.strip():
        yield Fact("deferral_needs_reason", {})
    if item.safety and not by_keeper:
        yield Fact("deferral_by_keeper_only", {})


def _how_far(
    item: Item, meters: Mapping[str, MeterState], as_of: date, until: Point
) -> Iterator[Fact]:
    if isinstance(until, date):
        if until <= as_of:
            yield Fact("deferral_not_ahead", {"on": as_of})
        elif item.safety and until > as_of + MOST_DAYS:
            yield Fact("deferral_too_long", {"on": as_of + MOST_DAYS})
        return
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
    elif item.safety and most is not None and until.value > state.known + most:
        farthest = state.known + most
        yield Fact("deferral_too_far", {"value": farthest, "unit": state.unit})


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
