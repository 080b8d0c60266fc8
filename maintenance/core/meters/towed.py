"""Towed distance: credited by past trips, until a hub meter is fitted."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.dates import DAY, InUse
from maintenance.core.facts import Meter, Replacement, Trip, Unit
from maintenance.core.meters.track import ZERO, Scale, Track, good_readings
from maintenance.core.units import convert

Interval = tuple[Decimal, Decimal]


def is_towed(name: str) -> bool:
    """Whether a meter of this name counts towed distance."""
    return name.startswith("towed")


@dataclass(frozen=True, slots=True)
class Credit:
    """Distance towed from `start` to `end`, both included, in the meter's unit."""

    start: date
    end: date
    distance: Decimal

    def by(self, day: date) -> Decimal:
        """What of it was driven by the end of a day."""
        if day >= self.end:
            return self.distance
        gone = (day - self.start).days + 1
        return self.distance * max(gone, 0) / ((self.end - self.start).days + 1)


def credits_of(trips: Sequence[Trip], unit: Unit, as_of: date) -> list[Credit]:
    """What past trips credit, in `unit`, by their last day.

    A trip with the tow vehicle's odometer span counts the part of it that no trip
    before it counted (also while the trip goes on); one without counts its distance as
    entered by hand, once it is over.
    """
    counted: dict[str, list[Interval]] = defaultdict(list)
    found = []
    for trip in sorted(trips, key=lambda one: (one.end, one.start)):
        distance = ZERO
        if trip.odometer is not None and trip.start <= as_of:
            before = _length(counted[trip.tow])
            counted[trip.tow] = _united([*counted[trip.tow], trip.odometer])
            gained = _length(counted[trip.tow]) - before
            distance = convert(gained, trip.odometer_unit, unit)
        elif trip.odometer is None and trip.distance and trip.end <= as_of:
            distance = convert(trip.distance, trip.unit, unit)
        if distance:
            found.append(Credit(trip.start, min(trip.end, as_of), distance))
    return found


def _length(spans: Sequence[Interval]) -> Decimal:
    return sum((end - start for start, end in spans), ZERO)


def _united(spans: Sequence[Interval]) -> list[Interval]:
    found: list[Interval] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def credited(found: Sequence[Credit]) -> list[tuple[date, Decimal]]:
    """Day and value at each turn: before a trip's first day and on its last."""
    turns = sorted({one.start - DAY for one in found} | {one.end for one in found})
    coming = sorted(found, key=lambda one: one.start)
    over, running = ZERO, list[Credit]()
    points = []
    for day in turns:
        while coming and coming[0].start <= day:
            running.append(coming.pop(0))
        over += sum((one.distance for one in running if one.end <= day), ZERO)
        running = [one for one in running if one.end > day]
        points.append((day, over + sum((one.by(day) for one in running), ZERO)))
    return points


def track_towed(
    meter: Meter, in_use: InUse, trips: Sequence[Trip], as_of: date
) -> Track:
    """Towed distance; the readings of a hub meter rule from the first of them on."""
    found = credits_of(trips, meter.unit, as_of)
    points = credited(found)
    scale = Scale(meter.replaced)
    good = good_readings(meter, scale)
    shown = points[-1][1] if points else ZERO
    if good.readings:
        first = good.readings[0]
        at_fitting = sum((one.by(first.on) for one in found), ZERO)
        points = [point for point in points if point[0] < first.on]
        if all(one.on > first.on for one in meter.replaced):
            fitted = Replacement(first.on, at_fitting, first.value)
            scale = Scale((fitted, *meter.replaced))
            shift = at_fitting - good.values[0]
        else:
            shift = ZERO
        points += [
            (reading.on, value + shift)
            for reading, value in zip(good.readings, good.values, strict=True)
        ]
        shown = good.readings[-1].value
    return Track(
        meter.unit,
        scale,
        in_use,
        days=[day for day, _value in points],
        values=[value for _day, value in points],
        before=ZERO,
        shown_last=shown,
        doubtful=good.doubtful,
        void=good.void,
    )
