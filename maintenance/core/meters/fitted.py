"""A meter that was fitted to go on with what was counted without one: what had been
credited by then stays, and its readings rule from its fitting on."""

from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal

from maintenance.core.dates import InUse
from maintenance.core.facts import Meter, Replacement
from maintenance.core.meters.track import ZERO, Scale, Track, good_readings


def track_fitted(
    meter: Meter,
    in_use: InUse,
    points: Sequence[tuple[date, Decimal]],
    counted_by: Callable[[date], Decimal],
) -> Track:
    """`points`: what was counted without it, by day; `counted_by` tells it for the end
    of a day. Where no fitting is given, the first reading is that of the fitting."""
    scale = Scale(meter.replaced)
    own = meter.readings
    if meter.fitted is not None:
        own = (meter.fitted, *(one for one in own if one.on >= meter.fitted.on))
    good = good_readings(
        Meter(meter.unit, own, meter.replaced, meter.taken_back), scale
    )
    if not good.readings:
        return Track(meter.unit, scale, in_use, before=ZERO, shown_last=ZERO)
    first = good.readings[0]
    at_fitting = counted_by(first.on)
    before = [point for point in points if point[0] < first.on]
    shift = ZERO
    if all(one.on > first.on for one in meter.replaced):
        fitted = Replacement(first.on, at_fitting, first.value)
        scale = Scale((fitted, *meter.replaced))
        shift = at_fitting - good.values[0]
    pairs = zip(good.readings, good.values, strict=True)
    points = [*before, *((reading.on, value + shift) for reading, value in pairs)]
    return Track(
        meter.unit,
        scale,
        in_use,
        days=[day for day, _value in points],
        values=[value for _day, value in points],
        before=ZERO,
        shown_last=good.readings[-1].value,
        doubtful=good.doubtful,
        void=good.void,
    )
