"""Follow-ups: the checks that an event raises, place by place."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.facts import After, Completion, Event, Fact, Unit
from maintenance.core.rigday import RigDay
from maintenance.core.triggers.places import Places
from maintenance.core.triggers.windows import (
    DayWindow,
    Found,
    History,
    Lack,
    OpenWindow,
    ValueWindow,
)
from maintenance.core.units import convert
from maintenance.core.why import happened, window_of_days, window_of_values

Check = tuple[Decimal, Decimal]  # least and most after the event, in the meter's unit
NEVER_SHOWN = Decimal("Infinity")


@dataclass(slots=True)
class FollowUp:
    """One check of one event, and the places where it is still open."""

    raised: "Happening"
    check: Check
    open: Places
    notes: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Happening:
    """An event or a completion in the order of things. `at`: true value, if known."""

    what: Event | Completion
    at: Decimal | None
    places: Places

    @property
    def on(self) -> date:
        return self.what.on


def after(day: RigDay, history: History, trigger: After) -> Found:
    """All open follow-ups of a kind of event."""
    checks = _own_checks(day, trigger)
    unit = None if trigger.meter is None else day.tracks[trigger.meter].unit
    found: list[FollowUp] = []
    for one in _in_order(day, history, trigger):
        if isinstance(one.what, Event):
            _raise(found, one, one.places, checks)
        elif one.what.outcome == "moved":
            _raise(found, one, _turned(found, one.places), checks)
        else:
            _settle(found, one, unit)
        found = [follow_up for follow_up in found if follow_up.open]
    if not found:
        return Found(idle=(Fact("no_event", {"kind": trigger.event}),))
    return _windows(day, trigger, found)


def _own_checks(day: RigDay, trigger: After) -> Sequence[Check]:
    if trigger.meter is None or trigger.unit is None:
        return trigger.checks
    unit = day.tracks[trigger.meter].unit
    if unit == trigger.unit:
        return trigger.checks
    return [
        (convert(least, trigger.unit, unit), convert(most, trigger.unit, unit))
        for least, most in trigger.checks
    ]


def _in_order(day: RigDay, history: History, trigger: After) -> Iterator[Happening]:
    """Events and completions by day; on one day by reading, events first.

    Only figures of their own put things of one day in order: an estimate might put a
    check before the event that it was made for.
    """
    taken_on = history.item.taken_on or date.min
    events = [one for one in day.events_of(trigger.event) if one.on >= taken_on]
    if not events:
        return
    meter = trigger.meter or day.distance_meter
    rows: list[tuple[date, Decimal, int, Event | Completion]] = []
    happenings: tuple[Sequence[Event | Completion], ...] = (events, history.done)
    for rank, ones in enumerate(happenings):
        unknown = NEVER_SHOWN if rank else -NEVER_SHOWN
        for one in ones:
            place = unknown
            if meter is not None:
                own = day.own_figure(meter, one.on, one.values)
                if own is not None:
                    place = day.tracks[meter].scale.true(own, one.on)
            rows.append((one.on, place, rank, one))
    rows.sort(key=lambda row: row[:3])
    for on, _place, _rank, what in rows:
        at = None
        if trigger.meter is not None:
            at, _estimated = day.value_at(trigger.meter, on, what.values)
        yield Happening(what, at, Places(what.places))


def _raise(
    found: list[FollowUp], by: Happening, places: Places, checks: Sequence[Check]
) -> None:
    """Open every check at the places, in the stead of what is open there."""
    if not places:
        return
    for follow_up in found:
        follow_up.open -= places
    found += [FollowUp(by, check, places) for check in checks]


def _turned(found: Sequence[FollowUp], named: Places) -> Places:
    """Where a fastener had turned: those of the named places with an open follow-up."""
    turned = Places(frozenset())
    for follow_up in found:
        turned |= follow_up.open & named
    return turned


def _settle(found: Sequence[FollowUp], by: Happening, unit: Unit | None) -> None:
    """Close at its places what the completion has reached; note what came early."""
    for follow_up in found:
        if not follow_up.open & by.places:
            continue
        if _reached(follow_up, by, by_meter=unit is not None):
            follow_up.open -= by.places
        else:
            follow_up.notes += (_early(follow_up, by, unit),)


def _reached(follow_up: FollowUp, by: Happening, *, by_meter: bool) -> bool:
    least = follow_up.check[0]
    if not by_meter:
        return by.on >= follow_up.raised.on + timedelta(days=int(least))
    start = follow_up.raised.at
    # Without a figure of both nobody can say that the check was not too early.
    return start is not None and by.at is not None and by.at >= start + least


def _early(follow_up: FollowUp, by: Happening, unit: Unit | None) -> Fact:
    if unit is None:
        days = (by.on - follow_up.raised.on).days
        return Fact("checked_early_days", {"on": by.on, "days": days})
    start = follow_up.raised.at
    if start is None or by.at is None:
        return Fact("checked_without_reading", {"on": by.on})
    return Fact("checked_early", {"on": by.on, "value": by.at - start, "unit": unit})


def _windows(day: RigDay, trigger: After, found: Sequence[FollowUp]) -> Found:
    windows: list[OpenWindow] = []
    lacks: list[Lack] = []
    for follow_up in found:
        raised = _raised_facts(day, trigger, follow_up)
        window = _window(day, trigger, follow_up, raised)
        if window is None:
            why = (*raised, *follow_up.notes)
            lacks.append(Lack("after", why, since=follow_up.raised.on))
        else:
            windows.append(window)
    return Found(tuple(windows), tuple(lacks))


def _raised_facts(day: RigDay, trigger: After, follow_up: FollowUp) -> tuple[Fact, ...]:
    what = follow_up.raised.what
    anew = isinstance(what, Completion)
    places = follow_up.open
    facts = happened(
        "raised_anew" if anew else "event",
        day,
        on=what.on,
        values=what.values,
        meter=trigger.meter,
        places=places.names,
        kind=trigger.event,
    )
    if places.names is None and places.but:
        facts += (Fact("places_but", {"places": tuple(sorted(places.but))}),)
    if trigger.meter is not None and follow_up.raised.at is None:
        facts += (Fact("no_value_then", {"meter": trigger.meter, "on": what.on}),)
    return facts


def _window(
    day: RigDay, trigger: After, follow_up: FollowUp, raised: tuple[Fact, ...]
) -> OpenWindow | None:
    (least, most), start = follow_up.check, follow_up.raised
    places, notes = follow_up.open.names, follow_up.notes
    if trigger.meter is None:
        first = start.on + timedelta(days=int(least))
        last = start.on + timedelta(days=int(most))
        why = (*raised, window_of_days(first, last, "recheck_days"), *notes)
        return DayWindow("after", first, last, places=places, why=why)
    if start.at is None:
        return None
    opens, closes = start.at + least, start.at + most
    between = window_of_values(day, trigger.meter, opens, closes, "recheck_values")
    why = (*raised, between, *notes)
    return ValueWindow(
        "after", trigger.meter, opens, closes, start.on, places=places, why=why
    )
