"""One meter over time: what it showed, what that means, and its value on a day."""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.dates import InUse
from maintenance.core.facts import Meter, MeterState, Reading, Replacement, Unit
from maintenance.core.meters.consistent import Entry, can_stand, consistent

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

    `before` is the value before the first of them (None: there is none). `void` are the
    figures, as shown on a day, that count nowhere: doubtful or taken back.
    """

    unit: Unit
    scale: Scale
    in_use: InUse
    days: Sequence[date] = ()
    values: Sequence[Decimal] = ()
    before: Decimal | None = None
    shown_last: Decimal | None = None
    doubtful: tuple[Reading, ...] = ()
    void: frozenset[tuple[date, Decimal]] = frozenset()

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

    def counts(self, shown: Decimal, on: date) -> bool:
        """Whether what work or an event says the meter showed on a day can be used."""
        return (on, shown) not in self.void

    def shown_value(self, day: date) -> Decimal | None:
        """The value on a day, as the meter fitted now shows it."""
        true = self.value_on(day)
        return None if true is None else self.scale.shown(true)

    def state(self) -> MeterState:
        return MeterState(
            self.unit,
            self.shown_last,
            self.known_on,
            self.doubtful,
            on_day=self.shown_value,
        )


@dataclass(frozen=True, slots=True)
class Good:
    """Good readings and the doubtful ones, by day; `void` as in `Track`."""

    readings: list[Reading]
    values: list[Decimal]
    doubtful: tuple[Reading, ...]
    void: frozenset[tuple[date, Decimal]]


def good_readings(meter: Meter, scale: Scale) -> Good:
    """Sort out which readings are used: one a day, the largest good one.

    Of several of one fact on one day only the last entered counts; it corrects the
    others, which are not doubtful.
    """
    last = {(one.on, one.fact): i for i, one in enumerate(meter.readings)}
    entries = [
        Entry(one.on.toordinal(), scale.true(one.value, one.on), i, one.confirmed)
        for i, one in ((i, meter.readings[i]) for i in last.values())
    ]
    entries.sort(key=lambda entry: entry.day)
    kept = consistent(_one_a_day(entries, meter.unit), meter.unit)
    good = [meter.readings[entry.order] for entry in kept]
    values = [entry.value for entry in kept]
    if len(kept) == len(meter.readings) and not meter.taken_back:
        return Good(good, values, (), frozenset())
    used = {entry.order for entry in kept}
    left = [entry for entry in entries if entry.order not in used]
    wrong = [one for one in left if not _holds(one, kept, meter.unit)]
    return Good(
        good,
        values,
        tuple(meter.readings[entry.order] for entry in wrong),
        _void(meter, scale, kept, wrong),
    )


def _one_a_day(entries: list[Entry], unit: Unit) -> list[Entry]:
    """Of facts that share a day the largest that fits the days with one; where none
    does, the last entered."""
    days: dict[int, list[Entry]] = defaultdict(list)
    if len({entry.day for entry in entries}) == len(entries):
        return entries
    for entry in entries:
        days[entry.day].append(entry)
    by_day = list(days.values())
    single = [day[0] for day in by_day if len(day) == 1]
    sure = consistent(single, unit)
    return [
        day[0] if len(day) == 1 else _largest_fitting(day, sure, unit) for day in by_day
    ]


def _largest_fitting(day: Sequence[Entry], sure: list[Entry], unit: Unit) -> Entry:
    said = [one for one in day if one.confirmed]
    sure = sorted([*sure, max(said)]) if said else sure
    fitting = [one for one in day if one in said or can_stand(one, sure, unit)]
    best = max(fitting, key=lambda one: one.value, default=day[-1])
    return best._replace(confirmed=bool(said))


def _void(
    meter: Meter, scale: Scale, kept: Sequence[Entry], wrong: Sequence[Entry]
) -> frozenset[tuple[date, Decimal]]:
    """What no reading of its day that can be true says too."""
    found = {_figure(one) for one in meter.taken_back}
    found |= {_figure(meter.readings[entry.order]) for entry in wrong}
    readings_on = Counter(one.on for one in meter.readings)
    asked = {on for on, _value in found} | {
        on for on, n in readings_on.items() if n > 1
    }
    for i, one in enumerate(meter.readings if asked else ()):
        if one.on not in asked:
            continue
        value = scale.true(one.value, one.on)
        entry = Entry(one.on.toordinal(), value, i, one.confirmed)
        if _holds(entry, kept, meter.unit):
            found.discard(_figure(one))
        else:
            found.add(_figure(one))
    return frozenset(found)


def _holds(entry: Entry, kept: Sequence[Entry], unit: Unit) -> bool:
    return entry.confirmed or can_stand(entry, kept, unit)


def _figure(reading: Reading) -> tuple[date, Decimal]:
    return reading.on, reading.value


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
        void=good.void,
    )
