"""Every so far or so many hours: by a meter."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Self, cast

from maintenance.core.facts import Fact, TriggerKind, Unit
from maintenance.core.fields import Fields
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.cycles import Counted, Intervals, count_cycle
from maintenance.core.triggers.kind import NEVER, Kind, Units, YearOfUse
from maintenance.core.triggers.plain import (
    MOST,
    inner,
    meter_and_unit,
    meter_interval,
    number_data,
    replacing,
)
from maintenance.core.triggers.windows import (
    Base,
    History,
    MissingInput,
    ValueWindow,
    WindowResult,
)
from maintenance.core.units import convert, show_number
from maintenance.core.why import happened, window_of_values

MOST_LEAD: dict[Unit, Decimal] = {
    "mi": Decimal(500),
    "km": Decimal(800),
    "h": Decimal(25),
}
# The widest span in which an interval of upkeep can lie: (least, most) by unit.
PLAUSIBLE = {"mi": (100, 150_000), "km": (160, 240_000), "h": (5, 5_000)}


@dataclass(frozen=True, slots=True)
class EveryMeter(Kind):
    """Every `interval` of `unit` on `meter`; `first` and `severe` in the same unit.

    Closes at base + interval; opens 10 % of it, at most 500 mi, before.
    """

    key = "every"
    told_by = tuple(MOST)
    beside = ("first", "severe")
    hangs_on = "work"
    meter: str
    unit: Unit
    interval: Decimal
    first: Decimal | None = None
    severe: Decimal | None = None

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        found = inner(fields, cls.key)
        kind = found.one_of(cls.told_by, "an interval")
        interval = meter_interval(found, kind)
        meter, unit = meter_and_unit(found, kind, units)
        found.finish()
        first, severe = (
            replacing(fields, name, lambda one: meter_interval(one, kind))
            for name in ("first", "severe")
        )
        return cls(meter, unit, interval, first, severe)

    def to_data(self) -> dict[str, object]:
        kind = "hours" if self.unit == "h" else "distance"
        every: dict[str, object] = {kind: number_data(self.interval)}
        if kind == "distance":
            every["unit"] = self.unit
        every["meter"] = self.meter
        found: dict[str, object] = {self.key: every}
        for name, value in (("first", self.first), ("severe", self.severe)):
            if value is not None:
                found[name] = {kind: number_data(value)}
        return found

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        track = day.tracks[self.meter]
        name: TriggerKind = "every_hours" if track.unit == "h" else "every_distance"
        counted = count_cycle(day, history, self._intervals(day))
        if counted is None:
            return WindowResult(missing=(MissingInput(name, (Fact("no_record", {}),)),))
        facts, cycle = self._counted_from(day, counted.base), counted.cycle
        if cycle is None:
            on = counted.base.on
            fact = Fact("no_value_then", {"meter": self.meter, "on": on})
            return WindowResult(missing=(MissingInput(name, (*facts, fact)),))
        if track.known is None:
            fact = Fact("no_reading", {"meter": self.meter})
            return WindowResult(missing=(MissingInput(name, (*facts, fact)),))
        window = ValueWindow(
            name,
            self.meter,
            cycle.opens,
            cycle.closes,
            counted.base.on,
            why=(
                *facts,
                self._rule(counted.cause),
                *self._kept(day, counted),
                window_of_values(day, self.meter, cycle.opens, cycle.closes),
            ),
        )
        return WindowResult((window,))

    def _intervals(self, day: RigTimeline) -> Intervals[Decimal, Decimal]:
        unit = day.tracks[self.meter].unit

        def own(interval: Decimal | None) -> Decimal | None:
            if interval is None or self.unit == unit:
                return interval
            return convert(interval, self.unit, unit)

        return Intervals(
            MeterAxis(unit),
            own(self.interval) or self.interval,
            own(self.first),
            own(self.severe),
            lambda base: _value_of(day, self.meter, base),
            lambda one, other, _begun: min(one, other),
        )

    def _counted_from(self, day: RigTimeline, base: Base) -> tuple[Fact, ...]:
        done = happened(
            base.kind,
            day,
            on=base.on,
            until=base.until,
            values=base.values,
            meter=None if base.carried else self.meter,
            kind=base.event,
        )
        return (*done, *_brought(day, base, self.meter))

    def _rule(self, cause: str) -> Fact:
        """`cause`: "" for the usual interval, "first", "severe". In the rule's own
        unit, not the meter's: so the owner knows it."""
        replaced = {"first": self.first, "severe": self.severe}.get(cause)
        return Fact(
            "every_meter",
            {
                "meter": self.meter,
                "unit": self.unit,
                "interval": self.interval if replaced is None else replaced,
                "cause": cause,
            },
        )

    def _kept(
        self, day: RigTimeline, counted: Counted[Decimal, Decimal]
    ) -> tuple[Fact, ...]:
        """The anchor that the last completion did not move."""
        anchor, cycle = counted.anchor, counted.cycle
        if anchor is None or anchor.after is None or cycle is None:
            return ()
        track = day.tracks[self.meter]
        shown = track.scale.shown(cycle.previous)
        return (Fact("anchor_kept", {"value": shown, "unit": track.unit}),)

    def times_a_year(self, year: YearOfUse) -> Decimal:
        unit = cast(Unit, year.units.get(self.meter, self.unit))
        counted = year.counts.get(self.meter, NEVER)
        return convert(counted, unit, self.unit) / self.interval

    def implausible(self) -> str | None:
        low, high = PLAUSIBLE[self.unit]
        for value in (self.interval, self.first, self.severe):
            if value is not None and not low <= value <= high:
                return (
                    f"every {show_number(value)} {self.unit} can't be right: "
                    f"enter {low} to {show_number(high)} {self.unit}"
                )
        return None

    def counted_on(self) -> tuple[str, Unit]:
        return self.meter, self.unit

    def value_interval(self) -> tuple[str, Decimal, Unit]:
        return self.meter, self.interval, self.unit


def _brought(day: RigTimeline, base: Base, meter: str) -> tuple[Fact, ...]:
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


def _value_of(day: RigTimeline, meter: str, base: Base) -> Decimal | None:
    """Where a base lies on the meter: for a part that came from another rig, as far
    back as it had been used by then."""
    carried = base.carried
    if carried is None:
        return day.value_at(meter, base.on, base.values)[0]
    begun = day.value_at(meter, carried.on, carried.values)[0]
    gone = carried.used.get(meter)
    return None if begun is None or gone is None else begun - gone


@dataclass(frozen=True, slots=True)
class MeterAxis:
    """True values of a meter in `unit`."""

    unit: Unit

    @property
    def none(self) -> Decimal:
        return Decimal(0)

    def plus(self, gone: Decimal, interval: Decimal) -> Decimal:
        return gone + interval

    def at(self, point: Decimal, gone: Decimal) -> Decimal:
        return point + gone

    def whole(self, start: Decimal, end: Decimal, interval: Decimal) -> int:
        return max(0, int((end - start) // interval))

    def times(self, interval: Decimal, count: int) -> Decimal:
        return interval * count

    def opens(self, begun: Decimal, closes: Decimal, interval: Decimal) -> Decimal:
        """10 % of the interval before closes, at most 500 mi, 800 km or 25 h."""
        return closes - min(interval / 10, MOST_LEAD[self.unit])


KIND = EveryMeter
