"""After an event: the checks that it raises, place by place."""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from maintenance.core.facts import Completion, Event, Fact, FactError, Unit
from maintenance.core.fields import (
    Fields,
    as_amount,
    as_choice,
    as_count,
    as_list,
)
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.events import EVENT_KINDS
from maintenance.core.triggers.kind import NEVER, Kind, Units, YearOfUse
from maintenance.core.triggers.places import Places
from maintenance.core.triggers.plain import (
    MOST_DAYS_NEAR,
    inner,
    meter_and_unit,
    number_data,
)
from maintenance.core.triggers.windows import (
    DayWindow,
    History,
    MissingInput,
    OpenWindow,
    ValueWindow,
    WindowResult,
)
from maintenance.core.units import convert, show_number
from maintenance.core.why import happened, window_of_days, window_of_values

Check = tuple[Decimal, Decimal]  # least and most after the event, in the meter's unit
NEVER_SHOWN = Decimal("Infinity")
_MOST_FOLLOW_UP = 100_000
# Within what a follow-up of upkeep comes.
FARTHEST = {"mi": 2_000, "km": 3_200, "h": 500}
LONGEST = 365  # days


@dataclass(frozen=True, slots=True)
class After(Kind):
    """Checks after an event, each (min, max): a distance on `meter`, or days."""

    key = "after"
    hangs_on = "event"
    event: str
    checks: tuple[tuple[Decimal, Decimal], ...]
    meter: str | None = None  # None: the checks are in days
    unit: Unit | None = None

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        found = inner(fields, cls.key)
        event = as_choice(found.take("event"), found.at("event"), EVENT_KINDS)
        kind = found.one_of(("distance", "days"), "a window")
        checks = _checks(found, kind)
        meter, unit = None, None
        if kind == "distance":
            meter, unit = meter_and_unit(found, kind, units)
        found.finish()
        return cls(event, checks, meter, unit)

    def to_data(self) -> dict[str, object]:
        pairs: list[object] = [
            [number_data(low), number_data(high)] for low, high in self.checks
        ]
        checks = pairs[0] if len(pairs) == 1 else pairs
        if self.meter is None:
            return {self.key: {"event": self.event, "days": checks}}
        on_meter = {"distance": checks, "unit": self.unit, "meter": self.meter}
        return {self.key: {"event": self.event, **on_meter}}

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        """All open follow-ups of the kind of event."""
        checks = _own_checks(day, self)
        unit = None if self.meter is None else day.tracks[self.meter].unit
        shown = None if self.meter is None else day.tracks[self.meter].scale.shown
        found: list[FollowUp] = []
        taken_on = history.item.taken_on
        for one in _in_order(day, history, self):
            if isinstance(one.what, Event):
                answers = [
                    check
                    for check in checks
                    if _answers(day, self.meter, one, check[1], taken_on)
                ]
                _raise(found, one, one.places, answers)
            elif one.what.outcome == "moved":
                _raise(found, one, _turned(found, one.places), checks)
            else:
                _settle(found, one, unit, shown)
            found = [follow_up for follow_up in found if follow_up.open]
        if not found:
            return WindowResult(idle=(Fact("no_event", {"kind": self.event}),))
        return _windows(day, self, found)

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return NEVER

    def implausible(self) -> str | None:
        most = FARTHEST[self.unit] if self.unit else LONGEST
        if max(latest for _soonest, latest in self.checks) > most:
            return f"a follow-up comes within {show_number(most)} {self.unit or 'days'}"
        return None

    def counted_on(self) -> tuple[str, Unit] | None:
        if self.meter is None or self.unit is None:
            return None
        return self.meter, self.unit

    def follows(self) -> str:
        return self.event


def _checks(found: Fields, kind: str) -> tuple[tuple[Decimal, Decimal], ...]:
    place = found.at(kind)
    pairs = as_list(found.take(kind), place)
    if not pairs:
        raise FactError(place, "must be [least, most] or a list of such pairs")
    if not isinstance(pairs[0], list):
        return (_check(pairs, place, kind),)
    return tuple(_check(pair, f"{place}[{i}]", kind) for i, pair in enumerate(pairs))


def _check(pair: object, place: str, kind: str) -> tuple[Decimal, Decimal]:
    ends = as_list(pair, place)
    if len(ends) != 2:
        raise FactError(place, "must be a pair [least, most]")
    if kind == "days":
        least, most = (
            Decimal(as_count(end, place, 0, MOST_DAYS_NEAR, "days")) for end in ends
        )
    else:
        least, most = (
            as_amount(end, place, 0, _MOST_FOLLOW_UP, "mi or km") for end in ends
        )
    if most < least or (kind == "distance" and most == 0):
        raise FactError(place, "must be [least, most], the second must be larger")
    return least, most


@dataclass(slots=True)
class FollowUp:
    """One check of one event, and the places where it is still open."""

    raised: "Happening"
    check: Check
    open: Places
    notes: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Happening:
    """An event or a completion in the order of things. `at`: true value, if known;
    `at_most`: what it cannot have been above."""

    what: Event | Completion
    at: Decimal | None
    places: Places
    at_most: Decimal | None = None

    @property
    def on(self) -> date:
        return self.what.on


def _own_checks(day: RigTimeline, trigger: After) -> Sequence[Check]:
    if trigger.meter is None or trigger.unit is None:
        return trigger.checks
    unit = day.tracks[trigger.meter].unit
    if unit == trigger.unit:
        return trigger.checks
    return [
        (convert(least, trigger.unit, unit), convert(most, trigger.unit, unit))
        for least, most in trigger.checks
    ]


def _in_order(
    day: RigTimeline, history: History, trigger: After
) -> Iterator[Happening]:
    """Events and completions by day; on one day by reading, events first.

    Only figures of their own put things of one day in order: an estimate might put a
    check before the event that it was made for.
    """
    events = [
        one for one in day.events_of(trigger.event) if history.touches(one.places)
    ]
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
                own, estimated = day.value_at(meter, one.on, one.values)
                if own is not None and not estimated:
                    place = own
            rows.append((one.on, place, rank, one))
    rows.sort(key=lambda row: row[:3])
    own_place = frozenset({history.place}) if history.place else None
    for _on, _place, _rank, what in rows:
        places = Places(own_place or what.places)
        at = _value_then(day, trigger, what)
        at_most = _first_value(day, trigger, what) if at is None else at
        yield Happening(what, at, places, at_most)


def _first_value(
    day: RigTimeline, trigger: After, what: Event | Completion
) -> Decimal | None:
    """What it had at most when something happened before its first reading."""
    track = None if trigger.meter is None else day.tracks[trigger.meter]
    if track is None or not track.days or track.days[0] < what.on:
        return None
    return track.values[0]


def _answers(
    day: RigTimeline,
    meter: str | None,
    raised: "Happening",
    most: Decimal,
    taken_on: date | None,
) -> bool:
    """Whether a check of an event counts on a plan that was taken on later: one by days
    if it closes on that day or after, one by distance unless the last good reading by
    that day lay past its closes."""
    if taken_on is None or raised.on >= taken_on:
        return True
    if meter is None:
        return raised.on + timedelta(days=int(most)) >= taken_on
    track = day.tracks[meter]
    at = bisect_right(track.days, taken_on)
    if at == 0 or raised.at is None:
        return True
    return track.values[at - 1] <= raised.at + most


def _value_then(
    day: RigTimeline, trigger: After, what: Event | Completion
) -> Decimal | None:
    """The true value; of a check on the road only one that is told to the mile."""
    if trigger.meter is None:
        return None
    check = isinstance(what, Completion) and what.outcome != "moved"
    if check and day.is_open(trigger.meter, what.on, what.values):
        return None
    return day.value_at(trigger.meter, what.on, what.values)[0]


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


def _settle(
    found: Sequence[FollowUp],
    by: Happening,
    unit: Unit | None,
    shown: Callable[[Decimal], Decimal] | None,
) -> None:
    """Close at its places what the completion has reached; note what came early."""
    for follow_up in found:
        if not follow_up.open & by.places:
            continue
        if _reached(follow_up, by, by_meter=unit is not None):
            follow_up.open -= by.places
        else:
            follow_up.notes += (_early(follow_up, by, unit, shown),)


def _reached(follow_up: FollowUp, by: Happening, *, by_meter: bool) -> bool:
    least = follow_up.check[0]
    if not by_meter:
        return by.on >= follow_up.raised.on + timedelta(days=int(least))
    start = follow_up.raised.at_most
    # Without a figure of both nobody can say that the check was not too early.
    return start is not None and by.at is not None and by.at >= start + least


def _early(
    follow_up: FollowUp,
    by: Happening,
    unit: Unit | None,
    shown: Callable[[Decimal], Decimal] | None,
) -> Fact:
    """How far after the event it was, and from which figure or day a check counts."""
    least = follow_up.check[0]
    if unit is None or shown is None:
        counts_from = follow_up.raised.on + timedelta(days=int(least))
        days = (by.on - follow_up.raised.on).days
        return Fact(
            "checked_early_days",
            {"on": by.on, "days": days, "counts_from": counts_from},
        )
    start = follow_up.raised.at
    if start is None or by.at is None:
        return Fact("checked_without_reading", {"on": by.on})
    return Fact(
        "checked_early",
        {
            "on": by.on,
            "value": by.at - start,
            "unit": unit,
            "counts_from": shown(start + least),
        },
    )


def _windows(
    day: RigTimeline, trigger: After, found: Sequence[FollowUp]
) -> WindowResult:
    windows: list[OpenWindow] = []
    missing: list[MissingInput] = []
    for follow_up in found:
        raised = _raised_facts(day, trigger, follow_up)
        window = _window(day, trigger, follow_up, raised)
        if window is None:
            why = (*raised, *follow_up.notes)
            missing.append(MissingInput(After.key, why, since=follow_up.raised.on))
        else:
            windows.append(window)
    return WindowResult(tuple(windows), tuple(missing))


def _raised_facts(
    day: RigTimeline, trigger: After, follow_up: FollowUp
) -> tuple[Fact, ...]:
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
    day: RigTimeline, trigger: After, follow_up: FollowUp, raised: tuple[Fact, ...]
) -> OpenWindow | None:
    (least, most), start = follow_up.check, follow_up.raised
    places, notes = follow_up.open.names, follow_up.notes
    if trigger.meter is None:
        first = start.on + timedelta(days=int(least))
        last = start.on + timedelta(days=int(most))
        why = (*raised, window_of_days(first, last, "recheck_days"), *notes)
        return DayWindow(After.key, first, last, places=places, why=why)
    if start.at is None:
        return None
    opens, closes = start.at + least, start.at + most
    between = window_of_values(day, trigger.meter, opens, closes, "recheck_values")
    why = (*raised, between, *notes)
    return ValueWindow(
        After.key, trigger.meter, opens, closes, start.on, places=places, why=why
    )


KIND = After
