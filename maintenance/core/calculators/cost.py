"""What a rig costs: fuel between full fills, per distance, per night, a year ahead.

Distances and volumes in the units that the caller names; money in one currency.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median

from maintenance.core.calculators.answers import (
    Answer,
    CalculatorError,
    Figure,
    limits,
    num,
)
from maintenance.core.dates import add_months

MoneyWords = Callable[[Decimal], str]  # an amount as its reader writes it

_ODOMETER = limits("The odometer", "0", "10000000")
_VOLUME = limits("The fuel", "0.001", "10000")
_COST = limits("The cost", "0", "100000000")
_DISTANCE = limits("The distance", "0.1", "10000000")
_NIGHTS = limits("The number of nights", "1", "40000")


@dataclass(frozen=True, slots=True)
class Fill:
    """Fuel taken in; `missed`: fuel taken in before this was not written down."""

    odometer: Decimal
    volume: Decimal
    full: bool = True
    cost: Decimal | None = None
    missed: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """From one full fill to the next; `cost` is None where a price is missing."""

    distance: Decimal
    volume: Decimal
    cost: Decimal | None

    @property
    def economy(self) -> Decimal:
        """Distance per volume."""
        return self.distance / self.volume


def fuel_stretches(fills: Sequence[Fill]) -> tuple[Stretch, ...]:
    """The stretches between full fills, in the order of the fills.

    Only a full tank tells what was used: part fills are added to the next full one,
    and a stretch with a missed fill is left out. `BenchError`: an odometer that goes
    back, fuel of 0 or less.
    """
    stretches: list[Stretch] = []
    start: Decimal | None = None
    pending: list[Fill] = []
    last = Decimal(0)
    for fill in fills:
        last = _forward(fill, last)
        if fill.missed:
            start, pending = None, []
        pending.append(fill)
        if not fill.full:
            continue
        if start is not None and fill.odometer > start:
            stretches.append(_stretch(fill.odometer - start, pending))
        start, pending = fill.odometer, []
    return tuple(stretches)


def _forward(fill: Fill, last: Decimal) -> Decimal:
    shown = _ODOMETER.check(fill.odometer)
    _VOLUME.check(fill.volume)
    if fill.cost is not None:
        _COST.check(fill.cost)
    if shown < last:
        raise CalculatorError("The odometer", num(shown), f"{num(last)} and more")
    return shown


def _stretch(distance: Decimal, fills: Sequence[Fill]) -> Stretch:
    costs = [fill.cost for fill in fills if fill.cost is not None]
    return Stretch(
        distance=distance,
        volume=sum((fill.volume for fill in fills), Decimal(0)),
        cost=sum(costs, Decimal(0)) if len(costs) == len(fills) else None,
    )


def fuel_economy(
    fills: Sequence[Fill], *, distance_unit: str = "mi", volume_unit: str = "gal"
) -> Answer | None:
    """Distance per volume over all stretches; None without two full fills."""
    stretches = fuel_stretches(fills)
    if not stretches:
        return None
    distance = sum((s.distance for s in stretches), Decimal(0))
    volume = sum((s.volume for s in stretches), Decimal(0))
    value = distance / volume
    return Answer(
        value,
        f"{distance_unit}/{volume_unit}",
        f"{num(distance)} {distance_unit} ÷ {num(volume, 3)} {volume_unit}"
        f" = {num(value)} {distance_unit}/{volume_unit}",
        "Your own full fills.",
        "From full tank to full tank; part fills are added to the next full one.",
    )


def cost_per_distance(
    cost: Figure, distance: Figure, *, unit: str, money_words: MoneyWords
) -> Answer:
    """Money for each mile or kilometer. `BenchError`: no distance."""
    money, length = _COST.check(cost), _DISTANCE.check(distance)
    value = money / length
    told = f"{money_words(money)} ÷ {num(length)} {unit} = {money_words(value)}/{unit}"
    return Answer(value, f"/{unit}", told, "Your own records.")


def cost_per_night(cost: Figure, nights: Figure, *, money_words: MoneyWords) -> Answer:
    """Money for each night aboard. `BenchError`: no night."""
    money, count = _COST.check(cost), _NIGHTS.check(nights)
    value = money / count
    told = f"{money_words(money)} ÷ {num(count)} nights = {money_words(value)}/night"
    return Answer(value, "/night", told, "Your own records.")


# --- the year ahead -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Job:
    """Work to come: its windows (opens, closes) and what it cost earlier."""

    name: str
    windows: tuple[tuple[date, date], ...]
    prices: tuple[Decimal, ...]


@dataclass(frozen=True, slots=True)
class YearAhead:
    """Money for the next twelve months, and the jobs that no earlier price covers."""

    until: date
    low: Decimal
    likely: Decimal
    high: Decimal
    without_price: tuple[str, ...]
    source: str = (
        "Windows of the next twelve months times your own earlier prices: the lowest "
        "and the windows that must be done, the middle, the highest and all windows "
        "that open."
    )


def year_ahead(jobs: Iterable[Job], *, as_of: date) -> YearAhead:
    """What the next twelve months may cost, from windows and earlier prices.

    Low: the lowest price, for each window that closes within them; likely: the median
    price, for each whose middle lies within; high: the highest, for each that opens.
    Windows already open or overdue count. `BenchError`: a window that closes before
    it opens, a price below 0.
    """
    until = add_months(as_of, 12)
    low = likely = high = Decimal(0)
    unpriced: list[str] = []
    for job in jobs:
        closing, middle, opening = _times(job, until)
        prices = [_COST.check(price) for price in job.prices]
        if not prices:
            unpriced += [job.name] if opening else []
            continue
        low += closing * min(prices)
        likely += middle * median(prices)
        high += opening * max(prices)
    return YearAhead(until, low, likely, high, tuple(unpriced))


def _times(job: Job, until: date) -> tuple[int, int, int]:
    for opens, closes in job.windows:
        if closes < opens:
            raise CalculatorError(
                f"{job.name}: the window", str(closes), f"{opens} or later"
            )
    middles = [opens + (closes - opens) / 2 for opens, closes in job.windows]
    return (
        sum(closes <= until for _, closes in job.windows),
        sum(middle <= until for middle in middles),
        sum(opens <= until for opens, _ in job.windows),
    )
