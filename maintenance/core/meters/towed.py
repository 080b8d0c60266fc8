"""Towed distance: credited by trips, until a hub meter is fitted.

A trip credits what its tow vehicle drove while hitched. Spans are compared in the true
values of the tow vehicle's odometer, so that a replaced one does not tear them apart;
those of one tow vehicle are united, those of several add up. Source: the design,
section 4.1.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from maintenance.core.dates import DAY, InUse
from maintenance.core.facts import (
    TOW_ODOMETER,
    UNHITCHED,
    Meter,
    MeterState,
    NotTowed,
    Trip,
    Unit,
    Values,
)
from maintenance.core.meters.fitted import track_fitted
from maintenance.core.meters.track import ZERO, Scale, Track
from maintenance.core.units import convert

Interval = tuple[Decimal, Decimal]
Told = tuple[date, Decimal]  # a distance by the end of a day


def is_towed(name: str) -> bool:
    """Whether a meter of this name counts towed distance."""
    return name.startswith("towed")


@dataclass(frozen=True, slots=True)
class Credit:
    """What a trip credits, in the meter's unit.

    `told`: what it had credited by the end of some days, never falling; it grows evenly
    from the day before `start` to the first of them and so on. `spans`: the true values
    of the tow vehicle's odometer (in `tow_unit`) that it counts, as no trip before it
    did; `off` of them were driven unhitched, taken evenly. `low`: the odometer when it
    began. `over`: the tow vehicle has been unhitched; else a later figure of its
    odometer counts on.
    """

    start: date
    end: date
    tow: str
    unit: Unit
    tow_unit: Unit
    spans: tuple[Interval, ...] = ()
    off: Decimal = ZERO
    low: Decimal | None = None
    over: bool = True
    told: tuple[Told, ...] = ()

    @property
    def distance(self) -> Decimal:
        return self.told[-1][1] if self.told else ZERO

    def by(self, day: date) -> Decimal:
        """What of it was driven by the end of a day."""
        before: Told = (self.start - DAY, ZERO)
        for on, value in self.told:
            if day < on:
                gone, whole = (day - before[0]).days, (on - before[0]).days
                return before[1] + (value - before[1]) * max(gone, 0) / whole
            before = on, value
        return before[1]

    def at(self, odometer: Decimal) -> Decimal | None:
        """What of it was driven when the tow vehicle's odometer had a true value; None
        where nothing tells at what it began."""
        if self.low is None:
            return None
        if not self.spans and self.over:  # told as a distance, not as a span
            gone = max(odometer - self.low, ZERO)
            return min(convert(gone, self.tow_unit, self.unit), self.distance)
        gone = _length(_below(self.spans, odometer))
        if not self.over:
            gone += max(odometer - max((self.low, *(e for _s, e in self.spans))), ZERO)
        return self.hitched(gone)

    def hitched(self, gone: Decimal) -> Decimal:
        """What was towed of a distance that the tow vehicle drove on this trip."""
        if self.off:
            gone -= self.off * gone / max(_length(self.spans), self.off)
        return convert(gone, self.tow_unit, self.unit)


@dataclass(frozen=True, slots=True)
class TowedTrack(Track):
    """Towed distance without a hub meter. `said`: the last day of which somebody said
    that it had not been towed since, where nothing later tells; `seen`: the days up to
    which a figure tells what was towed, `evidence`: those of both."""

    credits: tuple[Credit, ...] = ()
    on_trips: tuple[tuple[date, date], ...] = ()
    seen: tuple[date, ...] = ()
    evidence: tuple[date, ...] = ()
    said: tuple[date, ...] = ()
    tows: Mapping[str, Track] | None = None

    @property
    def known_on(self) -> date | None:
        return self.evidence[-1] if self.evidence else None

    def state(self) -> MeterState:
        return MeterState(
            self.unit,
            self.shown_last,
            self.known_on,
            told_by="trips",
            on_day=self.shown_value,
        )

    @property
    def seen_on(self) -> date | None:
        """The last day of which a figure tells, not somebody's word alone."""
        return self.seen[-1] if self.seen else None

    def at_moment(self, on: date, values: Values) -> tuple[Decimal, bool]:
        """The value when something happened, and whether nothing tells it to the mile.

        On the road the tow vehicle's odometer tells it; without that it counts from the
        last evidence before the day.
        """
        told = self._told(on, values)
        if told is not None:
            return told, False
        if not self.is_open(on, values):
            return self.value_on(on) or ZERO, True
        at = bisect_left(self.evidence, on)
        return (self.value_on(self.evidence[at - 1]) or ZERO if at else ZERO), True

    def is_open(self, on: date, values: Values) -> bool:
        """Whether it was on the road, and nothing tells how far along."""
        on_the_road = any(start <= on <= end for start, end in self.on_trips)
        if not on_the_road or UNHITCHED in values:
            return False
        return self._told(on, values) is None

    def _told(self, on: date, values: Values) -> Decimal | None:
        shown = values.get(TOW_ODOMETER)
        if shown is None:
            return None
        here = [one for one in self.credits if one.start <= on <= one.end]
        found = [(one, self._true(one, shown, on)) for one in here]
        found = [(one, true) for one, true in found if one.at(true) is not None]
        if not found:
            return None
        within = [(one, true) for one, true in found if _covers(one, true)]
        trip, true = (within or found)[-1]
        total = ZERO
        for one in self.credits:
            alike = one.tow == trip.tow and (one is trip or one.spans)
            gone = one.at(true) if alike and (one is trip or one.over) else None
            total += one.by(on) if gone is None else gone
        return total

    def _true(self, trip: Credit, shown: Decimal, on: date) -> Decimal:
        tow = (self.tows or {}).get(trip.tow)
        return shown if tow is None else tow.scale.true(shown, on)


def _covers(credit: Credit, true: Decimal) -> bool:
    if not credit.over:
        return credit.low is not None and true >= credit.low
    return any(start <= true <= end for start, end in credit.spans)


# --- what trips credit ----------------------------------------------------------------


def credits_of(
    trips: Sequence[Trip],
    unit: Unit,
    as_of: date,
    tows: Mapping[str, Track] | None = None,
    not_towed: Sequence[NotTowed] = (),
) -> list[Credit]:
    """What the trips that have begun credit, in `unit`, by their last day.

    One with the span of the tow vehicle's odometer counts the part of it that no trip
    before it counted, less what was driven unhitched; one that was told by hand its
    distance. One under way, or over and told by nobody, counts what the tow vehicle's
    good readings on its days show (`tows`), and what was entered on the way.
    """
    counted: dict[str, list[Interval]] = defaultdict(list)
    found = []
    for trip in sorted(trips, key=lambda one: (one.end, one.start)):
        if trip.start > as_of:
            continue
        tow = (tows or {}).get(trip.tow)
        spans, read = _driven(trip, tow, as_of, not_towed)
        before = counted[trip.tow]
        fresh = [part for span in spans for part in _less(span, before)]
        counted[trip.tow] = _united([*before, *spans])
        found.append(_credit(trip, unit, as_of, tow, (fresh, read)))
    return found


def _driven(
    trip: Trip, tow: Track | None, as_of: date, not_towed: Sequence[NotTowed]
) -> tuple[list[Interval], list[Told]]:
    """The spans that a trip says were driven hitched, in true values of the tow
    vehicle's odometer, and those values at the ends of days."""
    last = min(trip.end, as_of)
    read = [] if tow is None else _readings(tow, trip.start, last)
    if trip.odometer is not None:
        low, high = _ends(trip, tow, last)
        if read and not _is_over(trip, as_of):
            high = max(high, read[-1][1])
        inside = [(on, min(max(value, low), high)) for on, value in read]
        # A first reading that is the start itself says nothing of that day's way.
        inside = [one for one in inside if one[1] > low]
        reached = next((on for on, value in inside if value >= high), last)
        end = last if _is_over(trip, as_of) else reached
        told = [one for one in inside if one[0] < end]
        return [(low, high)], [*told, (end, high)]
    if tow is None or not read or _by_hand(trip, as_of) is not None:
        return [], []
    begun = tow.value_on(trip.start)
    low = read[0][1] if begun is None else begun
    spans: list[Interval] = [(low, read[-1][1])]
    for one in not_towed:
        stood = tow.value_on(one.since), tow.value_on(one.said_on)
        if stood[0] is not None and stood[1] is not None:
            spans = [part for span in spans for part in _less(span, [stood])]  # type: ignore[list-item]
    return spans, read


def _readings(tow: Track, start: date, end: date) -> list[Told]:
    first, last = bisect_left(tow.days, start), bisect_right(tow.days, end)
    return list(zip(tow.days[first:last], tow.values[first:last], strict=True))


def _ends(trip: Trip, tow: Track | None, last: date) -> Interval:
    """True values of the span's ends; of an unknown vehicle as they were shown."""
    assert trip.odometer is not None  # noqa: S101  (the caller asked)
    low, high = trip.odometer
    if tow is not None:
        low, high = (convert(x, trip.odometer_unit, tow.unit) for x in (low, high))
        low, high = tow.scale.true(low, trip.start), tow.scale.true(high, last)
    return low, max(low, high)


def _is_over(trip: Trip, as_of: date) -> bool:
    return trip.odometer is not None and trip.end <= as_of


def _by_hand(trip: Trip, as_of: date) -> Decimal | None:
    """The distance that was told of a trip that is over."""
    told = trip.end < as_of and not trip.planned
    return trip.distance if told and trip.odometer is None else None


def _credit(
    trip: Trip,
    unit: Unit,
    as_of: date,
    tow: Track | None,
    driven: tuple[list[Interval], list[Told]],
) -> Credit:
    """`driven`: the spans that no trip before it counted, and values by day."""
    fresh, read = driven
    low = None if tow is None else tow.value_on(trip.start)
    if trip.odometer is not None:
        low = _ends(trip, tow, min(trip.end, as_of))[0]
    tow_unit = trip.odometer_unit if tow is None else tow.unit
    whole = _by_hand(trip, as_of)
    made = Credit(
        trip.start,
        trip.end,
        trip.tow,
        unit,
        tow_unit,
        tuple(fresh),
        convert(trip.off, trip.odometer_unit, tow_unit),
        low,
        over=_is_over(trip, as_of) or whole is not None,
    )
    told = [(on, made.hitched(_length(_below(fresh, value)))) for on, value in read]
    told += _entered(trip, unit, as_of, whole)
    return replace(made, told=tuple(_rising(told)))


def _entered(
    trip: Trip, unit: Unit, as_of: date, whole: Decimal | None
) -> Iterator[Told]:
    """What was entered by hand, so far and of the whole; a span takes its place."""
    if _is_over(trip, as_of):
        return
    most = None if whole is None else convert(whole, trip.unit, unit)
    for on, so_far in trip.told:
        if on <= as_of and (most is None or on < trip.end):
            gone = convert(so_far, trip.unit, unit)
            yield on, gone if most is None else min(gone, most)
    if most is not None:
        yield trip.end, most


def _rising(told: Iterable[Told]) -> Iterator[Told]:
    """By day, one a day, none below the one before it."""
    days: dict[date, Decimal] = {}
    most = ZERO
    for on, value in sorted(told):
        days[on] = most = max(most, value)
    yield from days.items()


def _length(spans: Iterable[Interval]) -> Decimal:
    return sum((end - start for start, end in spans), ZERO)


def _below(spans: Iterable[Interval], value: Decimal) -> list[Interval]:
    return [(start, min(end, value)) for start, end in spans if start < value]


def _less(span: Interval, gone: Iterable[Interval]) -> list[Interval]:
    """What is left of a span without the others."""
    left = [span]
    for start, end in gone:
        left = [
            part
            for low, high in left
            for part in ((low, min(high, start)), (max(low, end), high))
            if part[0] < part[1]
        ]
    return left


def _united(spans: Sequence[Interval]) -> list[Interval]:
    found: list[Interval] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


# --- the meter over time --------------------------------------------------------------


def credited(found: Sequence[Credit], said: Iterable[date] = ()) -> list[Told]:
    """Day and value at each turn: before a trip's first day, and where it was told."""
    some = [one for one in found if one.told]
    turns = {one.start - DAY for one in some}
    turns |= {on for one in some for on, _value in one.told}
    turns.update(said)
    coming = sorted(some, key=lambda one: one.start)
    over, running = ZERO, list[Credit]()
    points = []
    for day in sorted(turns):
        while coming and coming[0].start <= day:
            running.append(coming.pop(0))
        over += sum((one.distance for one in running if one.told[-1][0] <= day), ZERO)
        running = [one for one in running if one.told[-1][0] > day]
        points.append((day, over + sum((one.by(day) for one in running), ZERO)))
    return points


def track_towed(
    meter: Meter,
    in_use: InUse,
    trips: Sequence[Trip],
    as_of: date,
    *,
    tows: Mapping[str, Track] | None = None,
    not_towed: Sequence[NotTowed] = (),
) -> Track:
    """Towed distance; the readings of a hub meter rule from its fitting on.

    `tows`: the odometers of the tow vehicles by name. Where no fitting is given, the
    first reading is that of the fitting.
    """
    found = credits_of(trips, meter.unit, as_of, tows, not_towed)
    if meter.fitted is not None or meter.readings:
        return track_fitted(
            meter,
            in_use,
            credited(found),
            lambda day: sum((one.by(day) for one in found), ZERO),
        )
    said = tuple(sorted({one.said_on for one in not_towed if one.said_on <= as_of}))
    points = credited(found, said)
    seen = {on for one in found for on, _value in one.told}
    return TowedTrack(
        meter.unit,
        Scale(()),
        in_use,
        days=[day for day, _value in points],
        values=[value for _day, value in points],
        before=ZERO,
        shown_last=points[-1][1] if points else ZERO,
        credits=tuple(found),
        on_trips=tuple((one.start, one.end) for one in found),
        seen=tuple(sorted(seen)),
        evidence=tuple(sorted(seen | {*said})),
        said=said,
        tows=tows,
    )
