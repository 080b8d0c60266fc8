"""What a car that is also towed has rolled on its wheels: its odometer and the distance
that it was towed, together."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from maintenance.core.meters.towed import TowedTrack
from maintenance.core.meters.track import ZERO, Scale, Track
from maintenance.core.units import convert


class Both(Scale):
    """What the two meters show, added up, in the odometer's unit."""

    def __init__(self, odometer: Track, towed: Track) -> None:
        super().__init__(())
        self._odometer, self._towed = odometer, towed
        self.offset = -self._shown(ZERO, date.max)

    def true(self, shown: Decimal, on: date) -> Decimal:
        return shown - self._shown(ZERO, on)

    def shown_on(self, true: Decimal, on: date) -> Decimal:
        return true + self._shown(ZERO, on)

    def _shown(self, true: Decimal, on: date) -> Decimal:
        towed = self._towed.scale.shown_on(true, on)
        unit = self._odometer.unit
        return self._odometer.scale.shown_on(true, on) + convert(
            towed, self._towed.unit, unit
        )


def _none() -> Track:
    raise TypeError("a track on wheels is made of two")


@dataclass(frozen=True, slots=True)
class WheelTrack(Track):
    """`days` and `values` are those of both meters from the odometer's first on; that
    it was not towed says nothing of what it drove by itself."""

    odometer: Track = field(default_factory=_none)
    towed: Track = field(default_factory=_none)

    def value_on(self, day: date) -> Decimal | None:
        return self.sum_of(self.odometer.value_on(day), self.towed.value_on(day))

    def sum_of(self, driven: Decimal | None, towed: Decimal | None) -> Decimal | None:
        if driven is None or towed is None:
            return None
        return driven + convert(towed, self.towed.unit, self.odometer.unit)


def track_wheels(odometer: Track, towed: Track) -> WheelTrack:
    """The two as one, in the odometer's unit; towed distance begins at 0."""
    first = odometer.days[0] if odometer.days else date.max
    told = {*towed.days}
    if isinstance(towed, TowedTrack):
        told -= {*towed.said} - {*towed.seen}
    days = sorted({*odometer.days, *(on for on in told if on >= first)})
    bare = WheelTrack(
        odometer.unit,
        Both(odometer, towed),
        odometer.in_use,
        odometer=odometer,
        towed=towed,
    )
    values = [value for on in days if (value := bare.value_on(on)) is not None]
    return WheelTrack(
        odometer.unit,
        bare.scale,
        odometer.in_use,
        days=days,
        values=values,
        shown_last=bare.sum_of(odometer.shown_last, towed.shown_last),
        odometer=odometer,
        towed=towed,
    )
