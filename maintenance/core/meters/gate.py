"""The gate for a meter's values: does a new one fit, what speaks against it, and what
may have been meant."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from maintenance.core.facts import Fact, FactValue, Meter, Reading, Unit
from maintenance.core.meters.consistent import MOST_PER_DAY, Entry, can_stand
from maintenance.core.meters.track import ZERO, Good, Scale, good_readings
from maintenance.core.units import convert

ROLLS_AT = (Decimal(100_000), Decimal(1_000_000))  # five- and six-digit odometers
# What nobody is asked about, though the rig never did it: a long first day, and so much
# for each day more. Common practice: ten hours at 60 mph; a generator run for a day.
USUAL_DAY: dict[Unit, tuple[int, int]] = {"mi": (600, 100), "km": (965, 160)}
USUAL_HOURS = (24, 8)
FAR = 3  # times what the rig ever did in as many days
# Readings next to a day that are looked at: those of before say what the rig does.
LOOKED_AT = 200
LOOKED_AT_AFTER = 50
_MOST_OFFERED = 4
# What is likelier comes first; the digit typed after a figure was whole before one
# typed within it, and a digit left out last: of those there are many, so some fit by
# chance. Our own order.
CAUSES = (
    "digit_added",  # after the last one, or the decimal point forgotten
    "digit_doubled",
    "other_unit",
    "other_rig",
    "replaced",  # or run over its last digit
    "digits_swapped",
    "digit_too_many",
    "digit_too_few",
)


@dataclass(frozen=True, slots=True)
class Intended:
    """What may have been meant, as the meter shows it, in `unit`; `cause` is one of
    `CAUSES`. With `rig` it is that rig's; of a replaced meter the true value."""

    cause: str
    value: Decimal
    unit: Unit
    rig: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """`reasons` to ask; none: it fits. `possible`: it could be true by its neighbors.
    `intended`: the likeliest first. `echo`: what it says since the value before it
    (`gained`, `since`, `since_on`, `days`, `per_day`); None for a first one."""

    possible: bool
    reasons: tuple[Fact, ...] = ()
    intended: tuple[Intended, ...] = ()
    echo: Fact | None = None

    @property
    def fits(self) -> bool:
        return not self.reasons


def judge_value(
    meter: Meter, reading: Reading, *, others: Callable[[], Mapping[str, Meter]] = dict
) -> Verdict:
    """Whether a value fits its meter, or is to be asked about.

    `meter` has the values accepted so far, those of events and trips as readings with a
    `fact` of their own; `reading` may be among them or be about to be entered. Of its
    own day and fact it takes the place, of others it has to fit. `others` gives the
    same kind of meter on the household's other rigs, by the rig's name; it is called
    where a value does not fit. It is asked about
    where it cannot be (`below_earlier`, `above_later`, `too_fast`, after one
    `doubtful_reading` that names both neighbors), and where it is far outside what the
    rig ever did (`outside_habit`).
    """
    near = neighbors(meter, reading)
    possible = near.fits(reading.value, reading.on)
    reasons = _outside_habit(near, reading) if possible else _impossible(near, reading)
    intended = _intended(near, reading, others()) if reasons else ()
    return Verdict(possible, tuple(reasons), intended, _echo(near, reading))


def is_long(gain: Decimal, days: int, unit: Unit) -> bool:
    """Whether a gain is so large that it is compared with what the rig ever did."""
    first, more = USUAL_DAY.get(unit, USUAL_HOURS)
    return gain > first + more * max(days - 1, 0)


# --- the values beside it -------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Neighbors:
    """The good readings next to a day, and how far a value may lie from them. `beside`
    is the good one of another fact on that very day."""

    unit: Unit
    scale: Scale
    good: Good
    before: Reading | None
    after: Reading | None
    beside: Reading | None = None
    _most: dict[int, Decimal] = field(default_factory=dict)

    def fits(self, shown: Decimal, on: date) -> bool:
        entry = self.entry(Reading(on, shown))
        sides = (self.before, self.beside, self.after)
        near = [self.entry(one) for one in sides if one is not None]
        return can_stand(entry, near, self.unit)

    def likely(self, on: date) -> Decimal:
        """What the meter may have shown: evenly between, else on by its own use."""
        if self.beside is not None:
            return self.beside.value
        if self.before is None or self.after is None:
            only = self.before or self.after
            if only is None:
                return ZERO
            start = self.entry(only)
            gone = self._per_day() * (on.toordinal() - start.day)
            return self.scale.shown_on(max(start.value + gone, ZERO), on)
        start, end = self.entry(self.before), self.entry(self.after)
        share = Decimal(on.toordinal() - start.day) / (end.day - start.day)
        true = start.value + (end.value - start.value) * share
        return self.scale.shown_on(true, on)

    def entry(self, reading: Reading) -> Entry:
        value = self.scale.true(reading.value, reading.on)
        return Entry(reading.on.toordinal(), value, 0)

    def gains(self, shown: Decimal, on: date) -> Iterator[tuple[Decimal, int]]:
        """What it gained since the value before, or up to the one after, and in how
        many days."""
        own = self.entry(Reading(on, shown))
        first = self.beside or self.before
        if first is not None:
            start = self.entry(first)
            yield own.value - start.value, own.day - start.day
        if self.after is not None:
            end = self.entry(self.after)
            yield end.value - own.value, end.day - own.day

    def is_far(self, shown: Decimal, on: date) -> bool:
        """Whether it is far beyond what the rig ever did in as many days."""
        return any(self.far(gain, days) for gain, days in self.gains(shown, on))

    def far(self, gain: Decimal, days: int) -> bool:
        if not is_long(gain, days, self.unit):
            return False
        most = self.most_in(max(days, 1))
        return gain > FAR * most

    def most_in(self, days: int) -> Decimal:
        """The most that it ever gained in so many days, by its good readings."""
        if days not in self._most:
            at = [one.on.toordinal() for one in self.good.readings]
            values = self.good.values
            self._most[days] = max(
                (
                    _value_at(at, values, day + days) - value
                    for day, value in zip(at, values, strict=True)
                ),
                default=ZERO,
            )
        return self._most[days]

    def _per_day(self) -> Decimal:
        if len(self.good.readings) < 2:
            return ZERO
        first, last = self.good.readings[0].on, self.good.readings[-1].on
        gained = self.good.values[-1] - self.good.values[0]
        return gained / max((last - first).days, 1)


def _value_at(days: Sequence[int], values: Sequence[Decimal], day: int) -> Decimal:
    """Evenly between two readings; after the last it is the last."""
    at = bisect_right(days, day)
    if at == len(days):
        return values[-1]
    low, high = days[at - 1], days[at]
    return values[at - 1] + (values[at] - values[at - 1]) * (day - low) / (high - low)


def neighbors(meter: Meter, reading: Reading) -> Neighbors:
    """The good readings next to a reading, of those on other days or of other facts;
    where there are none, the one of its own that it would take the place of."""
    own = (reading.on, reading.fact)
    others = tuple(one for one in meter.readings if (one.on, one.fact) != own)
    instead = [one for one in meter.readings if one.on == reading.on]
    instead = [one for one in instead if one is not reading and one != reading]
    if not others and instead:
        others = (replace(instead[-1], fact=f"{reading.fact} before"),)
    scale = Scale(meter.replaced)
    others = _around(others, reading.on)
    good = good_readings(Meter(meter.unit, others, meter.replaced), scale)
    days = [one.on for one in good.readings]
    at, then = bisect_left(days, reading.on), bisect_right(days, reading.on)
    return Neighbors(
        meter.unit,
        scale,
        good,
        good.readings[at - 1] if at else None,
        good.readings[then] if then < len(days) else None,
        good.readings[at] if at < then else None,
    )


def _around(readings: Sequence[Reading], on: date) -> tuple[Reading, ...]:
    """The readings next to a day, in the order in which they were entered: what lies
    farther away says nothing more, and there may be thousands."""
    by_day = sorted(range(len(readings)), key=lambda i: readings[i].on)
    at = bisect_left(by_day, on, key=lambda i: readings[i].on)
    near = by_day[max(at - LOOKED_AT, 0) : at + LOOKED_AT_AFTER]
    return tuple(readings[i] for i in sorted(near))


# --- what speaks against it -----------------------------------------------------------


def _impossible(near: Neighbors, reading: Reading) -> list[Fact]:
    unit = near.unit
    common: dict[str, FactValue] = {
        "value": reading.value,
        "unit": unit,
        "on": reading.on,
    }
    before = near.beside or near.before
    wrong = Fact(
        "doubtful_reading",
        {**common, **_side("before", before), **_side("after", near.after)},
    )
    found = [wrong]
    own = near.entry(reading)
    sides = (("below_earlier", before, 1), ("above_later", near.after, -1))
    for key, other, way in sides:
        if other is None:
            continue
        gain = (own.value - near.entry(other).value) * way
        values: dict[str, FactValue] = {
            **common,
            "other": other.value,
            "other_on": other.on,
        }
        days = abs((reading.on - other.on).days)
        if gain < 0 and days:
            found.append(Fact(key, values))
        elif abs(gain) > MOST_PER_DAY[unit] * max(days, 1):
            values |= {"per_day": _rate(gain, days), "most": MOST_PER_DAY[unit]}
            found.append(Fact("too_fast", values))
    return found


def _outside_habit(near: Neighbors, reading: Reading) -> list[Fact]:
    for gain, days in near.gains(reading.value, reading.on):
        if near.far(gain, days):
            most = near.most_in(max(days, 1))
            values: dict[str, FactValue] = {
                "value": reading.value,
                "unit": near.unit,
                "on": reading.on,
                "gained": gain,
                "days": days,
                "per_day": _rate(gain, days),
                "usual_per_day": _rate(most, days),
            }
            return [Fact("outside_habit", values)]
    return []


def _rate(gain: Decimal, days: int) -> Decimal:
    return (gain / max(days, 1)).quantize(Decimal("0.1"))


def _echo(near: Neighbors, reading: Reading) -> Fact | None:
    since = near.beside or near.before
    if since is None:
        return None
    gained = near.entry(reading).value - near.entry(since).value
    days = (reading.on - since.on).days
    return Fact(
        "gained_since",
        {
            "value": reading.value,
            "unit": near.unit,
            "gained": gained,
            "since": since.value,
            "since_on": since.on,
            "days": days,
            "per_day": _rate(gained, days) if days else None,
        },
    )


def _side(name: str, reading: Reading | None) -> dict[str, FactValue]:
    if reading is None:
        return {name: None, f"{name}_on": None}
    return {name: reading.value, f"{name}_on": reading.on}


# --- what may have been meant ---------------------------------------------------------


def _intended(
    near: Neighbors, reading: Reading, others: Mapping[str, Meter]
) -> tuple[Intended, ...]:
    """Those that fit, the likeliest first: what the rig does at all before what it
    never did, then by cause, then what lies nearest to its own use."""
    likely = near.likely(reading.on)
    found = [
        (near.is_far(one.value, reading.on), CAUSES.index(one.cause), one)
        for one in _meant(near, reading)
        if near.fits(one.value, reading.on)
    ]
    found += [
        (far, CAUSES.index(one.cause), one) for far, one in _other_rigs(reading, others)
    ]
    found.sort(key=lambda row: (row[0], row[1], abs(row[2].value - likely)))
    once: dict[tuple[Decimal, str], Intended] = {}
    for _far, _cause, one in found:
        once.setdefault((one.value, one.rig), one)
    return tuple(once.values())[:_MOST_OFFERED]


def _meant(near: Neighbors, reading: Reading) -> Iterator[Intended]:
    for cause, value in (
        *_slips(reading.value),
        *_other_unit(near.unit, reading.value),
        *_replaced(near, reading),
    ):
        if value != reading.value:
            yield Intended(cause, value, near.unit)


def _slips(value: Decimal) -> Iterator[tuple[str, Decimal]]:
    """What was meant if one digit too many was typed, one left out, two swapped, or
    the decimal point forgotten."""
    whole, _, rest = str(value).partition(".")
    rest = f".{rest}" if rest.strip("0") else ""
    if not rest:
        yield "digit_added", value / 10
    for i in range(len(whole)):
        if len(whole) > 1:
            yield _too_many(whole, i), Decimal(whole[:i] + whole[i + 1 :] + rest)
        if i:
            swapped = whole[: i - 1] + whole[i] + whole[i - 1] + whole[i + 1 :]
            yield "digits_swapped", Decimal(swapped + rest)
    for digit in "0123456789":
        for i in range(len(whole) + 1):
            yield "digit_too_few", Decimal(whole[:i] + digit + whole[i:] + rest)


def _too_many(whole: str, i: int) -> str:
    if i == len(whole) - 1:
        return "digit_added"
    return "digit_doubled" if whole[i] == whole[i + 1] else "digit_too_many"


def _other_unit(unit: Unit, value: Decimal) -> Iterator[tuple[str, Decimal]]:
    if unit != "h":
        other: Unit = "km" if unit == "mi" else "mi"
        yield "other_unit", convert(value, other, unit).quantize(Decimal("0.1"))


def _replaced(near: Neighbors, reading: Reading) -> Iterator[tuple[str, Decimal]]:
    """A meter that has run over its last digit."""
    last = near.before
    if last is None or reading.value >= last.value or near.unit == "h":
        return
    yield from (
        ("replaced", turn + reading.value) for turn in ROLLS_AT if last.value < turn
    )


def _other_rigs(
    reading: Reading, others: Mapping[str, Meter]
) -> Iterable[tuple[bool, Intended]]:
    for rig, meter in others.items():
        near = neighbors(meter, reading)
        if near.before is not None and near.fits(reading.value, reading.on):
            far = near.is_far(reading.value, reading.on)
            yield far, Intended("other_rig", reading.value, meter.unit, rig)
