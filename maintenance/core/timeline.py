"""A rig as it stands on a day: what every trigger asks for, worked out once."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from maintenance.core.dates import DAY, InUse, stay_end
from maintenance.core.facts import (
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
from maintenance.core.meters import is_towed, track_meter, track_towed
from maintenance.core.meters.track import ZERO


class RigTimeline:
    """One rig, one household calendar, one as-of date.

    `kept`: by meter, habits as `habits` gave them on another day; they save time alone.
    """

    def __init__(
        self,
        rig: Rig,
        calendar: Calendar,
        as_of: date,
        kept: Mapping[str, KeptHabit] | None = None,
    ) -> None:
        self.rig = rig
        self.calendar = calendar
        self.as_of = as_of
        self.in_use = InUse(rig.stays, as_of)
        self.stays = sorted(rig.stays, key=lambda stay: stay.start)
        self.tracks = {
            name: track_towed(meter, self.in_use, rig.trips, as_of)
            if is_towed(name)
            else track_meter(meter, self.in_use)
            for name, meter in rig.meters.items()
        }
        self._kept = kept or {}
        self._uses: dict[str, Use] = {}

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
            found.setdefault(event.kind, []).append(event)
        return found

    def events_of(self, kind: str) -> list[Event]:
        return self._events.get(kind, [])

    def use(self, meter: str) -> Use:
        """The use of a meter, fitted when first asked for."""
        if meter not in self._uses:
            track = self.tracks[meter]
            known = list(zip(track.days, track.values, strict=True))
            if is_towed(meter) and not self.rig.meters[meter].readings:
                # Without a trip no distance: what trips credit is known up to today.
                on, value = known[-1] if known else (self.as_of, ZERO)
                known.append((max(self.as_of, on), value))
            self._uses[meter] = fit(
                known,
                unit=track.unit,
                as_of=self.as_of,
                stays=self.rig.stays,
                trips=self._trips_on(meter),
                kept=self._kept.get(meter),
            )
        return self._uses[meter]

    def habits(self) -> dict[str, KeptHabit]:
        """By meter, those of the uses that were asked for."""
        return {name: one.habit for name, one in self._uses.items() if one.habit}

    def _trips_on(self, meter: str) -> tuple[Trip, ...]:
        """The trips; of those that this meter does not count the days alone."""
        if is_towed(meter):
            return self.rig.trips
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
        if own is not None:
            return self.tracks[meter].scale.true(own, on), False
        return self.tracks[meter].value_on(on), True

    def own_figure(self, meter: str, on: date, values: Values) -> Decimal | None:
        """What work or an event says the meter showed; None also where that is doubtful
        or was taken back as a reading."""
        own = values.get(meter)
        return own if own is not None and self.tracks[meter].counts(own, on) else None

    def meter_states(self) -> dict[str, MeterState]:
        return {name: track.state() for name, track in self.tracks.items()}
