"""Measured figures, judged: by the limits of their place, by the manufacturer's figure,
by their neighbors, and by what was measured at the same place before."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median
from typing import Literal

from maintenance.core.units import UnitError, convert

Side = Literal["below", "above", "short"]
AMONG = ("wheel", "axle", "wheels")
HUNDRED = Decimal(100)
# How many earlier figures make a habit, and how many of the newest count.
LEAST_LOOKS, MOST_LOOKS = 3, 5


@dataclass(frozen=True, slots=True)
class Limits:
    """Included, in `unit`; None where there is none. `target` is what the figure is set
    to; at `percent` of it or less it is out of bounds. `by_maker`: the manufacturer's
    book gives them."""

    low: Decimal | None
    high: Decimal | None
    unit: str
    by_maker: bool = False
    target: Decimal | None = None
    percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Figure:
    """A value in `unit`; `axle` names the axle of a wheel ("": no wheel)."""

    name: str
    value: Decimal
    unit: str
    place: str = ""
    axle: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Figures that should be alike, and from which difference on one is out of bounds.

    `among`: those of several `measures` at one wheel (`wheel`), or of one measure at
    the wheels of an axle (`axle`), each against the one farthest off; or of one measure
    at all wheels (`wheels`), against the median of the others. `odd`: whether the `low`
    or the `high` one is at fault. The difference is `apart`, in `unit`, or `percent` of
    what it is compared with; it is included. `words` say what it means.
    """

    measures: tuple[str, ...]
    among: str
    odd: str
    words: str
    unit: str = ""
    apart: Decimal | None = None
    percent: Decimal | None = None
    unfit: bool = False


@dataclass(frozen=True, slots=True)
class Trend:
    """What figures of `measures` are held against: the last one at their place, or with
    `usual` what is usual there, the median of the newest earlier ones.

    With `among` wheels not the figure itself is held against earlier ones, but by how
    much it stands above the median of the other wheels measured with it: a hot day
    makes all of them hot. From `apart` (in `unit`, included) to the `odd` side on it is
    asked about: no law and no manufacturer limits it.
    """

    measures: tuple[str, ...]
    odd: str
    words: str
    unit: str
    apart: Decimal
    usual: bool = False
    among: str = ""


@dataclass(frozen=True, slots=True)
class Deviation:
    """A figure out of bounds: by its `limits`, or by a comparison with the figure
    `other`, or by a `trend`. `index` is its place in the list given, `value` it in
    their unit; by a trend among wheels, by how much it stands above the others."""

    index: int
    value: Decimal
    limits: Limits | None = None
    comparison: Comparison | None = None
    trend: Trend | None = None
    other: Decimal = Decimal(0)


def judge_figures(
    figures: Sequence[Figure],
    limits_at: Callable[[Figure], Limits | None],
    comparisons: Iterable[Comparison] = (),
) -> list[Deviation]:
    """What of `figures`, all of one job on one rig, is out of bounds, in their order.

    Names of measures are compared as they are given. A figure of a unit that has no
    counterpart in that of its limits is not judged by them. A figure past its limit is
    not named again by a comparison. Limits and comparisons are the library's, with
    their sources there, or the manufacturer's.
    """
    found: dict[int, Deviation] = {}
    for index, figure in enumerate(figures):
        limits = limits_at(figure)
        deviation = limits and _against_limits(index, figure, limits)
        if deviation:
            found[index] = deviation
    for one in comparisons:
        for deviation in _compared(figures, one):
            found.setdefault(deviation.index, deviation)
    return [found[index] for index in sorted(found)]


def judge_trends(
    figures: Sequence[Figure],
    earlier: Sequence[Sequence[Figure]],
    trends: Iterable[Trend],
) -> list[Deviation]:
    """What of `figures` is to be asked about, in their order.

    `earlier` are the looks of before, oldest first, each with the figures measured
    together on what is fitted still. A habit takes three looks: two alone may differ by
    what a gauge, a thermometer or the weather makes of them.
    """
    found: dict[int, Deviation] = {}
    for one in trends:
        before = [_by_place(look, one) for look in earlier]
        for (name, place), (index, value) in _by_place(figures, one).items():
            past = [look[name, place][1] for look in before if (name, place) in look]
            if len(past) < (LEAST_LOOKS if one.usual else 1):
                continue
            other = median(past[-MOST_LOOKS:]) if one.usual else past[-1]
            over = value - other if one.odd == "high" else other - value
            if over >= one.apart:
                found.setdefault(index, Deviation(index, value, trend=one, other=other))
    return [found[index] for index in sorted(found)]


def _by_place(
    look: Sequence[Figure], one: Trend
) -> dict[tuple[str, str], tuple[int, Decimal]]:
    """Name and place -> index and what is compared; the last of several figures."""
    values = {
        (figure.name, figure.place): (index, value)
        for index, figure in enumerate(look)
        if figure.name in one.measures
        and (value := _in_unit(figure, one.unit)) is not None
    }
    if not one.among:
        return values
    above: dict[tuple[str, str], tuple[int, Decimal]] = {}
    for (name, place), (index, value) in values.items():
        others = [
            other
            for (its_name, its_place), (_index, other) in values.items()
            if its_name == name and its_place != place
        ]
        if others:
            above[name, place] = index, value - median(others)
    return above


def side_of(value: Decimal, limits: Limits) -> Side | None:
    """On which side of its limits a value in their unit lies; None: within."""
    if limits.low is not None and value < limits.low:
        return "below"
    if limits.high is not None and value > limits.high:
        return "above"
    target, percent = limits.target, limits.percent
    if target is not None and percent is not None and value * 100 <= target * percent:
        return "short"
    return None


def _against_limits(index: int, figure: Figure, limits: Limits) -> Deviation | None:
    value = _in_unit(figure, limits.unit)
    if value is None or side_of(value, limits) is None:
        return None
    return Deviation(index, value, limits=limits)


def _in_unit(figure: Figure, unit: str) -> Decimal | None:
    if figure.unit == unit:
        return figure.value
    try:
        return convert(figure.value, figure.unit, unit)
    except UnitError:
        return None


@dataclass(frozen=True, slots=True)
class _Member:
    index: int
    group: tuple[str, str]
    value: Decimal


def _compared(figures: Sequence[Figure], one: Comparison) -> Iterator[Deviation]:
    members = list(_members(figures, one))
    for member in members:
        others = [
            other.value
            for other in members
            if other.group == member.group and other.index != member.index
        ]
        if not others:
            continue
        bound = _compared_with(others, one)
        over = member.value - bound if one.odd == "high" else bound - member.value
        if over >= _allowed(one, bound) > 0:
            yield Deviation(member.index, member.value, comparison=one, other=bound)


def _members(figures: Sequence[Figure], one: Comparison) -> Iterator[_Member]:
    for index, figure in enumerate(figures):
        value = _in_unit(figure, one.unit)
        if figure.name not in one.measures or not figure.axle or value is None:
            continue
        group = {
            "wheel": ("", figure.place),
            "axle": (figure.name, figure.axle),
            "wheels": (figure.name, ""),
        }[one.among]
        yield _Member(index, group, value)


def _compared_with(others: Sequence[Decimal], one: Comparison) -> Decimal:
    if one.among == "wheels":
        return median(others)
    return min(others) if one.odd == "high" else max(others)


def _allowed(one: Comparison, bound: Decimal) -> Decimal:
    """The difference from which on it is out of bounds."""
    if one.apart is not None:
        return one.apart
    return bound * (one.percent or Decimal(0)) / HUNDRED
