"""What a trip will ask for: due before it, on the way, or only after it.

The forecast takes the trip's distance as given, spread evenly over its days. A window
on a meter is then told by the distance into the trip at which it closes, in the trip's
own unit, whatever the meter counts in. All days are estimates but those of windows that
hang on the calendar.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from maintenance.core.dates import DAY
from maintenance.core.departure import COMPLETING, counts_for, leaving_day
from maintenance.core.facts import (
    Calendar,
    Item,
    KeptHabit,
    MeterPoint,
    Pending,
    Rig,
    Standing,
    StandingName,
    TriggerKind,
    Trip,
)
from maintenance.core.standing import stand
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import kinds_of
from maintenance.core.triggers.kinds import FOLLOW_UPS
from maintenance.core.triggers.kinds.before_trip import BeforeTrip
from maintenance.core.units import convert

Place = Literal["before", "road", "after"]
PLACES: tuple[Place, ...] = ("before", "road", "after")


@dataclass(frozen=True, slots=True)
class TripJob:
    """Work that comes due before a trip's last day.

    `opens` and `closes` are its window's days, likely ones where it hangs on a meter
    (None: none can be told); `from_mile` and `by_mile` the same as distance into the
    trip, in the trip's unit, for windows on a distance. `can_now`: the window is open
    when the trip starts, so that it need not wait. `again`: how often more it comes
    round before the end. `unknown`: nothing is known of when it was done.
    """

    key: str
    place: Place
    standing: StandingName
    kind: TriggerKind | None = None
    opens: date | None = None
    closes: date | None = None
    from_mile: Decimal | None = None
    by_mile: Decimal | None = None
    can_now: bool = False
    again: int = 0

    @property
    def unknown(self) -> bool:
        return self.standing == "unknown"


@dataclass(frozen=True, slots=True)
class TripCheck:
    """An item that is due before every trip; `done_on` if it was done for this one,
    `counts_on` if so lately that it counts for the next departure, `that_day` if on its
    very day."""

    key: str
    opens: date
    done_on: date | None
    counts_on: date | None = None
    that_day: date | None = None


@dataclass(frozen=True, slots=True)
class TripLook:
    """`no_record`: how many other items nothing is known of."""

    jobs: tuple[TripJob, ...]
    checks: tuple[TripCheck, ...]
    no_record: int


def look_ahead(
    rig: Rig,
    trip: Trip,
    *,
    calendar: Calendar,
    as_of: date,
    kept: Mapping[str, KeptHabit] | None = None,
) -> TripLook:
    """What `trip`, one of the rig's trips, will ask of each item of `rig`.

    Days in the household's time zone. A trip under way is looked at from `as_of` on.
    `kept` as in `reckon`.
    """
    ahead = _Ahead(RigTimeline(rig, calendar, as_of, kept), trip)
    jobs, checks, no_record = [], [], 0
    for item in rig.items:
        found = stand(ahead.day, item)
        check = _check(item, trip, as_of)
        if check is not None:
            checks.append(check)
        job = ahead.job(item, found)
        if job is not None:
            jobs.append(job)
        elif found.standing == "unknown" and check is None:
            no_record += 1
    return TripLook(tuple(jobs), tuple(checks), no_record)


def _check(item: Item, trip: Trip, as_of: date) -> TripCheck | None:
    leads = [one.lead for one in item.triggers if isinstance(one, BeforeTrip)]
    if not leads:
        return None
    opens = trip.start - max(leads) * DAY
    done = (
        one.on
        for one in item.done
        if one.outcome in COMPLETING and opens <= one.on <= trip.end
    )
    leaving = leaving_day(trip, as_of)
    return TripCheck(
        item.key,
        opens,
        max(done, default=None),
        counts_for(item.done, leaving),
        counts_for(item.done, leaving, that_day=True),
    )


class _Ahead:
    """One rig on one trip."""

    def __init__(self, day: RigTimeline, trip: Trip) -> None:
        self.day = day
        self.trip = trip
        self.start = max(trip.start, day.as_of)

    def job(self, item: Item, found: Standing) -> TripJob | None:
        """The most pressing of its windows; those before every trip are checks."""
        if found.standing == "unknown":
            if item.safety or item.unfit or item.paper:
                return TripJob(item.key, "before", "unknown")
            return None
        jobs = [
            job
            for one in found.pending
            if one.kind != BeforeTrip.key
            and (job := self._of_window(item, found, one)) is not None
        ]
        if found.expected and not found.pending:  # an event without a figure
            return TripJob(item.key, "before", "due", found.governing)
        return min(jobs, key=_pressing, default=None)

    def _of_window(self, item: Item, found: Standing, one: Pending) -> TripJob | None:
        opens, closes = one.window.opens, one.window.closes
        if isinstance(opens, MeterPoint) and isinstance(closes, MeterPoint):
            return self._on_meter(item, found, one.kind, opens, closes)
        if isinstance(opens, date) and isinstance(closes, date):
            return self._on_days(item, found, one.kind, opens, closes)
        return None

    def _on_days(
        self,
        item: Item,
        found: Standing,
        kind: TriggerKind,
        opens: date,
        closes: date,
    ) -> TripJob | None:
        if opens > self.trip.end:
            return None
        return TripJob(
            item.key,
            self._place(opens, closes, closes),
            found.standing,
            kind,
            opens,
            closes,
            can_now=opens <= self.start,
            again=self._again_by_days(
                item, self.start if opens <= self.start else closes
            ),
        )

    def _on_meter(
        self,
        item: Item,
        found: Standing,
        kind: TriggerKind,
        opens: MeterPoint,
        closes: MeterPoint,
    ) -> TripJob | None:
        scale, use = self.day.tracks[opens.meter].scale, self.day.use(opens.meter)
        low = scale.true(opens.value, self.day.as_of)
        high = scale.true(closes.value, self.day.as_of)
        first, last = use.reach(low), use.reach(high)
        expected = found.expected and found.governing == kind
        if not expected and (first.likely is None or first.likely > self.trip.end):
            return None
        place: Place = "before"
        # Before its distance a check of what was fitted settles nothing: it waits.
        waits = kind in FOLLOW_UPS and first.likely is not None
        if first.likely is not None and (not expected or waits):
            place = self._place(first.likely, last.early, last.likely)
        can_now = (first.likely or date.max) <= self.start or (expected and not waits)
        return TripJob(
            item.key,
            place,
            found.standing,
            kind,
            first.likely,
            last.likely,
            self._mile(opens.meter, low),
            self._mile(opens.meter, high),
            can_now=can_now,
            again=self._again_by_meter(item, opens.meter, None if can_now else high),
        )

    def _place(self, opens: date, early: date | None, closes: date | None) -> Place:
        """Before leaving: what may close before, and what closes on the way though it
        could be done now."""
        if early is not None and early < self.start:
            return "before"
        if closes is None or closes > self.trip.end:
            return "after"
        return "before" if opens <= self.start else "road"

    def _value_by(self, meter: str, on: date) -> Decimal | None:
        """What the meter will likely have by the end of a day."""
        use, track = self.day.use(meter), self.day.tracks[meter]
        at = (on - use.start).days
        if at < 0 or not use.mid:
            return track.value_on(on)
        return Decimal(str(use.mid[min(at, len(use.mid) - 1)]))

    def _mile(self, meter: str, value: Decimal) -> Decimal | None:
        """How far into the trip `value` is reached, in the trip's unit; None where the
        meter does not go with the trip's distance."""
        unit = self.day.tracks[meter].unit
        counts = not self.trip.only_towed or meter.startswith("towed")
        leaving = self._value_by(meter, self.trip.start - DAY)
        if unit == "h" or not counts or leaving is None:
            return None
        return max(convert(value - leaving, unit, self.trip.unit), Decimal(0))

    def _again_by_meter(self, item: Item, meter: str, done: Decimal | None) -> int:
        """From the value at which it is done; None: when the trip starts."""
        rounds = (one.value_interval() for one in kinds_of(item))
        intervals = [
            convert(interval, unit, self.day.tracks[meter].unit)
            for name, interval, unit in filter(None, rounds)
            if name == meter
        ]
        leaving = self._value_by(meter, self.start - DAY)
        back = self._value_by(meter, self.trip.end)
        if not intervals or leaving is None or back is None:
            return 0
        since = leaving if done is None else max(done, leaving)
        return max(int((back - since) // min(intervals)), 0)

    def _again_by_days(self, item: Item, done: date) -> int:
        steps = [
            span.days or span.months * 30
            for one in kinds_of(item)
            if one.hangs_on == "work" and (span := one.time_interval()) is not None
        ]
        return max((self.trip.end - done).days // min(steps), 0) if steps else 0


def _pressing(job: TripJob) -> tuple[int, date]:
    return PLACES.index(job.place), job.closes or date.max
