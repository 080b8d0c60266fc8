"""What is measured at work: limits, the word about a value, and values as data."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.core.measured import Deviation, Limits, Trend, side_of
from maintenance.core.units import UNITS, UnitError, convert, show
from maintenance.library.model import Measure, PlaceLimit, Procedure
from maintenance.plans.figures import number
from maintenance.plans.models import MakerFigure, MakerValue, PlanItem
from maintenance.ui.words import day_words
from maintenance.vehicles.weights import heavy_rigs

DATE = "date"  # the unit of a measured day, such as the one printed on a paper
EXPIRES = "expires on"
PLACES = 3  # a voltmeter and a pin gauge show no more


@dataclass(frozen=True, slots=True)
class Measured:
    """A value as it was measured; `place` is a wheel, or words for another place."""

    name: str
    value: Decimal | date
    unit: str
    place: str = ""

    @property
    def words(self) -> str:
        if isinstance(self.value, date):
            return day_words(self.value)
        return figure_words(self.value, self.unit)


def figure_words(value: Decimal, unit: str) -> str:
    """“12.4 V”, “5/32 in”, “3 ppm”."""
    if unit in UNITS:
        return show(value, unit, places=PLACES)
    return f"{number(value)} {unit}".strip()


def by_name(maker: MakerFigure | None) -> dict[str, MakerValue]:
    return {one.name.casefold(): one for one in maker.values.all()} if maker else {}


def limits_of(measure: Measure, maker: MakerValue | None) -> Limits:
    """The maker's figure wins. A single one is a limit where the library has just one,
    and takes its side; where the library says what share of it is too little, it is
    what the figure is set to."""
    ours = Limits(measure.low, measure.high, measure.unit)
    if maker is None:
        return ours
    if measure.short_percent is not None:
        return _set_to(measure, maker) or ours
    low: Decimal | None = maker.value
    high = maker.up_to
    if high is None and ours.low is None and ours.high is not None:
        low, high = None, maker.value
    elif high is None and (ours.low is None or ours.high is not None):
        return ours
    try:
        return Limits(
            _in_unit(low, maker.unit, measure.unit),
            _in_unit(high, maker.unit, measure.unit),
            measure.unit,
            by_maker=True,
        )
    except UnitError:  # of another kind: nothing to judge by
        return ours


def _set_to(measure: Measure, maker: MakerValue) -> Limits | None:
    """Of a range the lower end."""
    try:
        target = in_unit(maker.value, maker.unit, measure.unit)
    except UnitError:
        return None
    return Limits(
        measure.low,
        measure.high,
        measure.unit,
        by_maker=True,
        target=target,
        percent=measure.short_percent,
    )


@dataclass(frozen=True, slots=True)
class Bounds:
    """What limits the figures of one item: its maker's values, and whether its rig is a
    heavy motor vehicle."""

    makers: Mapping[str, MakerValue] = field(default_factory=dict)
    heavy: bool = False

    def usual(self, measure: Measure) -> Limits:
        return limits_of(measure, self.makers.get(measure.name.casefold()))

    def at(self, measure: Measure, place: str) -> Limits:
        """A limit of the place is a law's: the maker's can only be stricter."""
        usual = self.usual(measure)
        for one in self.by_place(measure):
            if place in one.places and (usual.low is None or usual.low < one.low):
                return Limits(one.low, usual.high, measure.unit)
        return usual

    def by_place(self, measure: Measure) -> list[PlaceLimit]:
        """Those that count on this rig."""
        return [x for x in measure.limits_by_place if self.heavy or not x.heavy]

    def words(self, measure: Measure) -> str:
        """“at least 2/32 in; LF, RF at least 4/32 in”; empty without a limit."""
        usual = self.usual(measure)
        found = [limit_words(usual)] if limit_words(usual) else []
        for one in self.by_place(measure):
            limits = self.at(measure, one.places[0])
            if limits != usual:
                found.append(f"{', '.join(one.places)} {limit_words(limits)}")
        return "; ".join(found)


def bounds_of(
    item: PlanItem, procedure: Procedure | None, maker: MakerFigure | None
) -> Bounds:
    heavy = asks_heavy(procedure) and bool(heavy_rigs([item.rig]))
    makers = by_name(maker)
    if wanted := set_to_names(procedure) - makers.keys():
        placards = placard_values([item.rig_id], wanted).get(item.rig_id, {})
        makers = placards | makers
    return Bounds(makers, heavy)


def set_to_names(procedure: Procedure | None) -> set[str]:
    """What the procedure sets to a figure of the manufacturer, such as tire pressure:
    it is the rig's, whatever job it was entered at."""
    measures = procedure.measures if procedure else ()
    return {x.name.casefold() for x in measures if x.short_percent is not None}


def placard_values(
    rigs: Iterable[int], names: Collection[str]
) -> dict[int, dict[str, MakerValue]]:
    """Rig id -> the manufacturer's values of these names, entered at any of its jobs;
    of several the newest."""
    found: dict[int, dict[str, MakerValue]] = {}
    rows = MakerValue.objects.filter(maker__item__rig__in=list(rigs))
    for row in rows.order_by("maker__entered_on", "pk").select_related("maker__item"):
        if row.name.casefold() in names:
            found.setdefault(row.maker.item.rig_id, {})[row.name.casefold()] = row
    return found


def asks_heavy(procedure: Procedure | None) -> bool:
    """Whether a limit hangs on the rig being a heavy one."""
    measures = procedure.measures if procedure else ()
    return any(limit.heavy for one in measures for limit in one.limits_by_place)


def _in_unit(value: Decimal | None, unit: str, wanted: str) -> Decimal | None:
    return None if value is None else in_unit(value, unit, wanted)


def in_unit(value: Decimal, unit: str, wanted: str) -> Decimal:
    """`UnitError` where the one unit has no counterpart in the other."""
    return value if unit == wanted else convert(value, unit, wanted)


def limit_words(limits: Limits) -> str:
    """“at least 12.4 V”, “34 to 40 °F”, “set to 65 psi”; empty without a limit."""
    low, high, unit = limits.low, limits.high, limits.unit
    if limits.target is not None:
        return (
            f"set to {figure_words(limits.target, unit)} by the manufacturer's manual"
        )
    if low is not None and high is not None:
        words = f"{number(low)} to {figure_words(high, unit)}"
    elif low is not None:
        words = f"at least {figure_words(low, unit)}"
    elif high is not None:
        words = f"at most {figure_words(high, unit)}"
    else:
        return ""
    return f"{words} by the manufacturer's manual" if (limits.by_maker) else words


def is_outside(value: Decimal, limits: Limits) -> bool:
    return side_of(value, limits) is not None


def verdict_words(value: Decimal, limits: Limits) -> str:
    """“below the 12.4 V limit”, “within the limit”; empty where there is none."""
    side = side_of(value, limits)
    if side == "below" and limits.low is not None:
        return f"below the {figure_words(limits.low, limits.unit)} limit"
    if side == "above" and limits.high is not None:
        return f"above the {figure_words(limits.high, limits.unit)} limit"
    if side == "short":
        return _short_words(limits)
    if limits.low is None and limits.high is None and limits.target is None:
        return ""
    return "within the limit"


def _short_words(limits: Limits) -> str:
    """“80 % or less of the manufacturer's 65 psi”."""
    target = figure_words(limits.target or Decimal(0), limits.unit)
    percent = number(limits.percent or Decimal(0))
    return f"{percent} % or less of the manufacturer's {target}"


def deviation_words(found: Deviation) -> str:
    """“below the 2/32 in limit”, “5/32 in below 8/32 in, uneven across the tire”."""
    if found.limits is not None:
        return verdict_words(found.value, found.limits)
    if found.trend is not None:
        return _trend_words(found, found.trend)
    one = found.comparison
    unit, words = (one.unit, one.words) if one else ("", "")
    apart = figure_words(abs(found.value - found.other), unit)
    side = "above" if found.value > found.other else "below"
    return f"{apart} {side} {figure_words(found.other, unit)}, {words}"


def _trend_words(found: Deviation, one: Trend) -> str:
    """“4/32 in above last time, tread doesn't grow”, “0.3 V below what is usual, …”."""
    apart = figure_words(abs(found.value - found.other), one.unit)
    side = "above" if found.value > found.other else "below"
    against = "what is usual" if one.usual else "last time"
    return f"{apart} {side} {against}, {one.words}"


# --- as data of a record line ---------------------------------------------------------


def to_data(measured: Iterable[Measured]) -> list[dict[str, str]]:
    return [
        {
            "name": one.name,
            "value": one.value.isoformat()
            if isinstance(one.value, date)
            else number(one.value),
            "unit": one.unit,
            **({"place": one.place} if one.place else {}),
        }
        for one in measured
    ]


def from_data(rows: Iterable[Mapping[str, Any]]) -> list[Measured]:
    return [
        Measured(
            name=row["name"],
            value=date.fromisoformat(row["value"])
            if row["unit"] == DATE
            else Decimal(row["value"]),
            unit=row["unit"],
            place=row.get("place", ""),
        )
        for row in rows
    ]


def in_words(measured: Iterable[Measured]) -> list[str]:
    """One sentence for each thing measured: “tread: LF 6/32 in, RF 5/32 in”."""
    found: dict[str, list[str]] = {}
    for one in measured:
        words = f"{one.place} {one.words}" if one.place else one.words
        found.setdefault(one.name, []).append(words)
    return [f"{name}: {', '.join(values)}" for name, values in found.items()]
