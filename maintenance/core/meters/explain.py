"""Why a reading is doubtful: its neighbors, and what may lie behind it."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.facts import Fact, FactValue, Meter, Reading, Unit
from maintenance.core.meters.consistent import Entry, can_stand
from maintenance.core.meters.track import Scale, good_readings
from maintenance.core.units import convert

ROLLS_AT = (Decimal(100_000), Decimal(1_000_000))  # five- and six-digit odometers


@dataclass(frozen=True, slots=True)
class Neighbors:
    """The good readings next to a day, and how far a value may lie from them. `beside`
    is the good one of another fact on that very day."""

    unit: Unit
    scale: Scale
    before: Reading | None
    after: Reading | None
    beside: Reading | None = None

    def fits(self, shown: Decimal, on: date) -> bool:
        entry = self._entry(Reading(on, shown))
        sides = (self.before, self.beside, self.after)
        near = [self._entry(one) for one in sides if one is not None]
        return can_stand(entry, near, self.unit)

    def likely(self, on: date) -> Decimal:
        """What the meter may have shown: evenly between, else as its neighbor."""
        if self.beside is not None:
            return self.beside.value
        if self.before is None or self.after is None:
            only = self.before or self.after
            if only is None:
                return Decimal(0)
            return self.scale.shown_on(self._entry(only).value, on)
        start, end = self._entry(self.before), self._entry(self.after)
        share = Decimal(on.toordinal() - start.day) / (end.day - start.day)
        true = start.value + (end.value - start.value) * share
        return self.scale.shown_on(true, on)

    def _entry(self, reading: Reading) -> Entry:
        value = self.scale.true(reading.value, reading.on)
        return Entry(reading.on.toordinal(), value, 0)


def neighbors(meter: Meter, reading: Reading) -> Neighbors:
    """The good readings next to a reading, of those on other days or of other facts."""
    own = (reading.on, reading.fact)
    others = tuple(one for one in meter.readings if (one.on, one.fact) != own)
    scale = Scale(meter.replaced)
    good = good_readings(Meter(meter.unit, others, meter.replaced), scale).readings
    days = [one.on for one in good]
    at, then = bisect_left(days, reading.on), bisect_right(days, reading.on)
    return Neighbors(
        meter.unit,
        scale,
        good[at - 1] if at else None,
        good[then] if then < len(good) else None,
        good[at] if at < then else None,
    )


def explain_doubtful(
    meter: Meter, reading: Reading, *, others: Mapping[str, Meter] | None = None
) -> tuple[Fact, ...]:
    """Why a reading does not fit `meter`, as facts for a form; none when it fits.

    First what is wrong, both neighbors named, then the likely causes, those first that
    would make it fit. `others`: the same kind of meter on the household's other rigs,
    by the rig's name. The reading may be in `meter` already or be about to be entered.
    """
    near = neighbors(meter, reading)
    if near.fits(reading.value, reading.on):
        return ()
    wrong = Fact(
        "doubtful_reading",
        {
            "value": reading.value,
            "unit": meter.unit,
            "on": reading.on,
            **_side("before", near.beside or near.before),
            **_side("after", near.after),
        },
    )
    causes = [
        _typing_slip(near, reading),
        _replaced(near, reading),
        _other_unit(near, reading),
        _other_rig(reading, others or {}),
    ]
    causes.sort(key=lambda fact: fact.values.get("meant") is None)
    return (wrong, *causes)


def _side(name: str, reading: Reading | None) -> dict[str, FactValue]:
    if reading is None:
        return {name: None, f"{name}_on": None}
    return {name: reading.value, f"{name}_on": reading.on}


def _cause(name: str, unit: Unit, meant: Decimal | None, rig: str = "") -> Fact:
    values: dict[str, FactValue] = {"meant": meant, "unit": unit}
    if rig:
        values["rig"] = rig
    return Fact(f"cause_{name}", values)


def _typing_slip(near: Neighbors, reading: Reading) -> Fact:
    fitting = [one for one in _slips(reading.value) if near.fits(one, reading.on)]
    likely = near.likely(reading.on)
    meant = min(fitting, key=lambda one: abs(one - likely), default=None)
    return _cause("typing_slip", near.unit, meant)


def _slips(value: Decimal) -> Iterator[Decimal]:
    """What was meant if one digit too many was typed, one left out, two swapped, or
    the decimal point forgotten."""
    whole, _, rest = str(value).partition(".")
    rest = f".{rest}" if rest else ""
    for i in range(len(whole)):
        if len(whole) > 1:
            yield Decimal(whole[:i] + whole[i + 1 :] + rest)
        if i:
            swapped = whole[: i - 1] + whole[i] + whole[i - 1] + whole[i + 1 :]
            yield Decimal(swapped + rest)
    for digit in "0123456789":
        for i in range(len(whole) + 1):
            yield Decimal(whole[:i] + digit + whole[i:] + rest)
    yield value / 10


def _replaced(near: Neighbors, reading: Reading) -> Fact:
    """A meter that starts anew, or that has run over its last digit."""
    last = near.before
    if last is None or reading.value >= last.value or near.unit == "h":
        return _cause("replaced", near.unit, None)
    over = (turn + reading.value for turn in ROLLS_AT if last.value < turn)
    meant = next((true for true in over if near.fits(true, reading.on)), None)
    return _cause("replaced", near.unit, meant)


def _other_unit(near: Neighbors, reading: Reading) -> Fact:
    if near.unit == "h":
        return _cause("other_unit", near.unit, None)
    other: Unit = "km" if near.unit == "mi" else "mi"
    meant = convert(reading.value, other, near.unit).quantize(Decimal("0.1"))
    fits = near.fits(meant, reading.on)
    return _cause("other_unit", near.unit, meant if fits else None)


def _other_rig(reading: Reading, others: Mapping[str, Meter]) -> Fact:
    for rig, meter in others.items():
        near = neighbors(meter, reading)
        if near.before is not None and near.fits(reading.value, reading.on):
            return _cause("other_rig", meter.unit, reading.value, rig)
    return _cause("other_rig", "mi", None)
