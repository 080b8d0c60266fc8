"""A rig as it stands on a day: what every trigger asks for, worked out once."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from maintenance.core.dates import DAY, InUse, stay_end, without_overlaps
from maintenance.core.facts import (
    ODOMETER,
    TOWED,
    WHEEL_DISTANCE,
    WIDER_KINDS,
    Calendar,
    Event,
    KeptHabit,
    MeterState,
    Rig,
    Stay,
    Trip,
    Values,
)
from maintenance.core.forecast import Use, fit
from maintenance.core.meters import (
    RunTrack,
    TowedTrack,
    Track,
    WheelTrack,
    is_towed,
    track_meter,
    track_runs,
    track_towed,
    track_wheels,
)
from maintenance.core.meters.track import ZERO
from maintenance.core.units import convert


class RigTimeline:
    """One rig, one household calendar, one as-of date. Its stays overlap nothing that
    began after them, unless somebody said so.

    `kept`: by meter, habits as `habits` gave them on another day; they save time alone.
    """

    def __init__(
        self,
        rig: Rig,
        calendar: Calendar,
        as_of: date,
        kept: Mapping[str, KeptHabit] | None = None,
    ) -> None:
        stays = without_overlaps(rig.stays, rig.trips, as_of)
        self.rig = rig = replace(rig, stays=stays)
        self.calendar = calendar
        self.as_of = as_of
        self.in_use = InUse(rig.stays, as_of)
        self.stays = rig.stays
        self.tracks = self._tracks()
        self._kept = kept or {}
        self._uses: dict[tuple[str, date | None], Use] = {}

    def _tracks(self) -> dict[str, Track]:
        rig, as_of = self.rig, self.as_of
        found: dict[str, Track] = {}
        for name, meter in rig.meters.items():
            if is_towed(name):
                found[name] = track_towed(
                    meter,
                    self.in_use,
                    self.towed_trips,
                    as_of,
                    tows=self.tows,
                    not_towed=rig.not_towed,
                )
            else:
                track = track_meter if meter.runs is None else track_runs
                found[name] = track(meter, self.in_use)
        if ODOMETER in found and TOWED in found:
            found[WHEEL_DISTANCE] = track_wheels(found[ODOMETER], found[TOWED])
        return found

    @cached_property
    def tows(self) -> dict[str, Track]:
        """The odometers of what tows it, by the names that trips give them."""
        return _tow_tracks(self.rig, self.as_of)

    @cached_property
    def towed_trips(self) -> tuple[Trip, ...]:
        """The trips on which the rig was towed: of one that drives by itself as well
        those alone that its odometer did not count."""
        if ODOMETER not in self.rig.meters:
            return self.rig.trips
        return tuple(one for one in self.rig.trips if one.only_towed)

    def end_of(self, stay: Stay) -> date | None:
        return stay_end(stay, self.as_of)

    @cached_property
    def open_stay(self) -> Stay | None:
        """The stay that has begun and not ended; of several the last to begin."""
        open_now = (
            stay
            for stay in reversed(self.stays)
            if stay.start <= self.as_of and stay.until is None
        )
        return next(open_now, None)

    @cached_property
    def void_plan(self) -> date | None:
        """The planned end of the open stay, if it has passed."""
        stay = self.open_stay
        if stay is None or stay.planned_until is None:
            return None
        return stay.planned_until if stay.planned_until < self.as_of else None

    @cached_property
    def turns(self) -> tuple[date, ...]:
        """Days on which what is given of the rig may bear otherwise on its items: its
        stays, trips and duty begin, end, or are void a day after."""
        given: set[date | None] = {duty.start for duty in self.rig.duty}
        for stay in self.rig.stays:
            given |= {stay.start, stay.until, stay.planned_until}
        for trip in self.rig.trips:
            given |= {trip.start, trip.end}
            if trip.odometer and trip.start <= self.as_of < trip.end:
                given.add(self.as_of)  # it credits what was towed, day by day
        days = [one for one in given if one is not None and one < date.max - 2 * DAY]
        return tuple(one + n * DAY for one in days for n in range(3))

    @cached_property
    def distance_meter(self) -> str | None:
        """The meter by which things of one day are put in order."""
        return next((n for n, t in self.tracks.items() if t.unit != "h"), None)

    @cached_property
    def _events(self) -> Mapping[str, list[Event]]:
        found: dict[str, list[Event]] = {}
        for event in self.rig.events:
            for kind in {event.kind, WIDER_KINDS.get(event.kind, event.kind)}:
                found.setdefault(kind, []).append(event)
        return found

    def events_of(self, kind: str) -> list[Event]:
        """Those of a kind, and of the kinds that are one of it."""
        return self._events.get(kind, [])

    def use(self, meter: str, since: date | None = None) -> Use:
        """The use of a meter, fitted when first asked for; `since` as in `fit`."""
        if meter == WHEEL_DISTANCE and since is not None:
            # One fit serves all windows between which it was not towed.
            begun = (one.start <= since for one in self.towed_trips)
            since = since if any(begun) else None
        if (meter, since) not in self._uses:
            self._uses[meter, since] = self._fit(meter, since)
        return self._uses[meter, since]

    def _fit(self, meter: str, since: date | None) -> Use:
        track = self.tracks[meter]
        seen = _seen(track)
        if since is None and not seen and isinstance(track, TowedTrack):
            since = self.as_of  # without a trip it has 0 today
        return fit(
            seen,
            unit=track.unit,
            as_of=self.as_of,
            stays=self.rig.stays,
            trips=self._trips_on(meter, since),
            kept=self.habits().get(meter) or self._kept.get(meter),
            since=None if isinstance(track, WheelTrack) else since,
            untold=self._untold(track, since),
        )

    def _untold(self, track: Track, since: date | None) -> Decimal:
        """What a car was towed up to its last reading, by trips that nobody told of."""
        if not isinstance(track, WheelTrack) or track.known_on is None:
            return ZERO
        seen = max(_seen_on(track.towed) or date.min, since or date.min)
        total = ZERO
        for trip in self.towed_trips:
            if trip.distance is None:
                continue
            first, last = max(trip.start, seen + DAY), min(trip.end, track.known_on)
            share = Decimal(max((last - first).days + 1, 0))
            gone = trip.distance * share / ((trip.end - trip.start).days + 1)
            total += convert(gone, trip.unit, track.unit)
        return total

    def use_for(self, meter: str, opens: Decimal, since: date) -> Use:
        """The use by which a window that opens at a true value comes on; `since` is the
        day from which it counts."""
        return self.use(meter, self.expected_since(meter, opens, since))

    def expected_since(self, meter: str, opens: Decimal, since: date) -> date | None:
        """From when on towing is expected that only trips tell of; else None.

        It begins at the last evidence, or at the day from which the window counts if
        that is later. That somebody said since that it was not towed begins it anew,
        unless the window was expected to be open by then.
        """
        track = self.tracks[meter]
        towed = track.towed if isinstance(track, WheelTrack) else track
        if not isinstance(towed, TowedTrack):
            return None
        begin = max(towed.seen_on or since, since)
        for said in towed.said:
            if said > begin:
                if self._expected_by(meter, opens, begin, said):
                    break
                begin = said
        return begin

    def silent_from(self, meter: str, begin: date | None, since: date) -> date:
        """The last day of which it is known that a window, which counts from `since`
        on, has not come on; `begin` is from when on towing is expected."""
        track = self.tracks[meter]
        if begin is not None and isinstance(track, TowedTrack):
            return begin
        return max(since, track.known_on or since)

    def _expected_by(self, meter: str, opens: Decimal, begin: date, on: date) -> bool:
        use = self.use(meter, begin)
        early = use.expected_on(opens)
        if early is not None and early <= on:
            return True
        begin = self.silent_from(meter, begin, begin)
        return not use.fitted and self.in_use.days(begin, on) > 0

    def habits(self) -> dict[str, KeptHabit]:
        """By meter, those of the uses that were asked for."""
        return {name: one.habit for (name, _on), one in self._uses.items() if one.habit}

    def _trips_on(self, meter: str, since: date | None) -> tuple[Trip, ...]:
        """The trips; of those that this meter does not count the days alone. Of a car,
        what is left after `since` of those on which it was towed."""
        if is_towed(meter):
            return self.towed_trips
        if meter == WHEEL_DISTANCE:
            if since is None:
                return self.rig.trips
            left = (
                _left(one, since) if one.only_towed else one for one in self.rig.trips
            )
            return tuple(one for one in left if one is not None)
        return tuple(
            replace(one, distance=None) if one.only_towed else one
            for one in self.rig.trips
        )

    def severe_between(self, start: date, end: date) -> bool:
        """Whether the rig was on severe duty on any day of the span, ends included."""
        return any(
            duty.start <= end and (duty.end is None or duty.end >= start)
            for duty in self.rig.duty
        )

    def value_at(
        self, meter: str, on: date, values: Values
    ) -> tuple[Decimal | None, bool]:
        """True value on a day, and whether it is estimated for want of a figure that
        counts."""
        own = self.own_figure(meter, on, values)
        track = self.tracks[meter]
        if own is not None:
            return track.scale.true(own, on), False
        if isinstance(track, TowedTrack):
            return track.at_moment(on, values)
        if isinstance(track, WheelTrack):
            driven, estimated = self.value_at(ODOMETER, on, values)
            towed, _estimated = self.value_at(TOWED, on, values)
            on_the_way = self.is_open(TOWED, on, values)
            return track.sum_of(driven, towed), estimated or on_the_way
        return track.value_on(on), not isinstance(track, RunTrack)

    def is_open(self, meter: str, on: date, values: Values) -> bool:
        """Whether something happened while the rig was towed, and nothing tells how far
        along: no check counts that was made then."""
        if self.own_figure(meter, on, values) is not None:
            return False
        track = self.tracks[meter]
        if isinstance(track, WheelTrack):
            return self.is_open(TOWED, on, values)
        return isinstance(track, TowedTrack) and track.is_open(on, values)

    def own_figure(self, meter: str, on: date, values: Values) -> Decimal | None:
        """What work or an event says the meter showed; None also where that is doubtful
        or was taken back as a reading."""
        own = values.get(meter)
        return own if own is not None and self.tracks[meter].counts(own, on) else None

    def meter_states(self) -> dict[str, MeterState]:
        return {name: track.state() for name, track in self.tracks.items()}


def _seen(track: Track) -> list[tuple[date, Decimal]]:
    """Its values by day; of a towed meter those of which a figure tells."""
    points = zip(track.days, track.values, strict=True)
    if not isinstance(track, TowedTrack):
        return list(points)
    seen = track.seen_on or date.min
    return [point for point in points if point[0] <= seen]


def _seen_on(track: Track) -> date | None:
    return track.seen_on if isinstance(track, TowedTrack) else track.known_on


def _left(trip: Trip, since: date) -> Trip | None:
    """What of a trip lies after a day, its distance spread evenly."""
    if trip.start > since or trip.distance is None:
        return trip
    if trip.end <= since:
        return None
    share = Decimal((trip.end - since).days) / ((trip.end - trip.start).days + 1)
    return replace(trip, start=since + DAY, distance=trip.distance * share)


def _tow_tracks(rig: Rig, as_of: date) -> dict[str, Track]:
    found = {}
    for name, one in rig.tow_vehicles.items():
        if together := [trip for trip in rig.trips if trip.tow == name]:
            stays = without_overlaps(one.stays, together, as_of)
            found[name] = track_meter(one.odometer, InUse(stays, as_of))
    return found
