"""One meter over time: what it showed, what that means, and its value on a day."""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.dates import InUse
from maintenance.core.facts import Meter, MeterState, Reading, Replacement, Unit
from maintenance.core.meters.consistent import Entry, consistent

ZERO = Decimal(0)


class Scale:
    """Between what a meter shows and the true value: replacements and roll-overs."""

    def __init__(self, replaced: Iterable[Replacement]) -> None:
        self._replaced = sorted(replaced, key=lambda one: one.on)
        self.offset = sum(
            (one.old_final - one.new_start for one in self._replaced), ZERO
        )

    def true(self, shown: Decimal, on: date) -> Decimal:
        """The true value of what the meter showed on a day.

        On the very day of a replacement, a value is the old meter's if it lies nearer
        to the old meter's last value, else the new one's.
        """
        offset = ZERO
        for one in self._replaced:
            if on < one.on:
                break
            nearer = abs(shown - one.old_final) < abs(shown - one.new_start)
            if on == one.on and nearer:
                break
            offset += one.old_final - one.new_start
        return shown + offset

    def shown(self, true: Decimal) -> Decimal:
        """What the meter fitted now shows at a true value."""
        return true - self.offset

    def shown_on(self, true: Decimal, on: date) -> Decimal:
        """What the meter fitted on a day (on that of a replacement, the new one) shows
        at a true value."""
        gains = (
            one.old_final - one.new_start for one in self._replaced if one.on <= on
        )
        return true - sum(gains, ZERO)


@dataclass(frozen=True, slots=True)
class Track:
    """The good readings of a meter in true values, by day.

    `before` is the value before the first of them (None: there is none).
    """

    unit: Unit
    scale: Scale
    in_use: InUse
    days: Sequence[date] = ()
    values: Sequence[Decimal] = ()
    before: Decimal | None = None
    shown_last: Decimal | None = None
    doubtful: tuple[Reading, ...] = ()

    @property
    def known(self) -> Decimal | None:
        """The last true value; None without readings."""
        return self.values[-1] if self.values else self.before

    @property
    def known_on(self) -> date | None:
        return self.days[-1] if self.days else None

    def value_on(self, day: date) -> Decimal | None:
        """The true value on a day, by the readings.

        Between two readings it grows evenly over the days that are in no stay (over
        all days, when all lie in stays); after the last it is the last.
        """
        at = bisect_right(self.days, day)
        if at == 0:
            return self.before
        start, low = self.days[at - 1], self.values[at - 1]
        if at == len(self.days) or start == day:
            return low
        end, gain = self.days[at], self.values[at] - low
        whole, part = self.in_use.days(start, end), self.in_use.days(start, day)
        if whole == 0:
            whole, part = (end - start).days, (day - start).days
        return low + gain * part / whole

    def state(self) -> MeterState:
        return MeterState(self.unit, self.shown_last, self.known_on, self.doubtful)


@dataclass(frozen=True, slots=True)
class Good:
    """Good readings and the doubtful ones, by day."""

    readings: list[Reading]
    values: list[Decimal]
    doubtful: tuple[Reading, ...]


def good_readings(meter: Meter, scale: Scale) -> Good:
    """Sort out which readings are used.

    Of several on one day only the last entered counts. The others of the day are
    corrected, not doubtful.
    """
    last = {reading.on: i for i, reading in enumerate(meter.readings)}
    by_day = sorted(last.items())
    entries = [
        Entry(
            on.toordinal(),
            scale.true(meter.readings[i].value, on),
            i,
            meter.readings[i].confirmed,
        )
        for on, i in by_day
    ]
    kept = consistent(entries, meter.unit)
    orders = {entry.order for entry in kept}
    return Good(
        [meter.readings[entry.order] for entry in kept],
        [entry.value for entry in kept],
        tuple(meter.readings[i] for _on, i in by_day if i not in orders),
    )


def track_meter(meter: Meter, in_use: InUse) -> Track:
    """A meter that has readings of its own."""
    scale = Scale(meter.replaced)
    good = good_readings(meter, scale)
    return Track(
        meter.unit,
        scale,
        in_use,
        days=[reading.on for reading in good.readings],
        values=good.values,
        shown_last=good.readings[-1].value if good.readings else None,
        doubtful=good.doubtful,
    )
