"""What a forecast rests on, as facts that the shell words."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.facts import Fact, Stay, Unit
from maintenance.core.forecast.days import YEAR
from maintenance.core.forecast.learning import Change, Learned
from maintenance.core.forecast.year import LONG

_FEW = 4  # readings
_LATELY = timedelta(days=430)  # a stay that ended before says little of the next
_SURE = 0.6  # that the habit changed with one block or the next
_TOLD = 1.4  # times more or less use that an owner would call another habit
_MONTH = 30  # days


def reasons(
    days: Sequence[date],
    *,
    unit: Unit,
    learned: Learned | None,
    stays: Sequence[Stay],
    as_of: date,
) -> tuple[Fact, ...]:
    if not days:
        return (Fact("forecast_no_readings", {}),)
    facts = [_rests_on(days)]
    if len(days) < _FEW:
        facts.append(Fact("forecast_few_readings", {"readings": len(days)}))
    if learned is None:
        return (*facts, Fact("forecast_no_use", {}))
    return (*facts, *_changed(learned.change, unit), *_parked(stays, as_of))


def _rests_on(days: Sequence[date]) -> Fact:
    years = Decimal((days[-1] - days[0]).days) / Decimal(str(YEAR))
    return Fact(
        "forecast_rests_on",
        {"readings": len(days), "years": years.quantize(Decimal("0.1"))},
    )


def _changed(change: Change | None, unit: Unit) -> Iterator[Fact]:
    """The last change of habit, when it is all but sure and an owner would notice."""
    if change is None or change.sure < _SURE:
        return
    if not 1 / _TOLD < change.now / change.before < _TOLD:
        yield Fact(
            "forecast_habit_changed",
            {
                "since": change.since,
                "before": _a_month(change.before),
                "now": _a_month(change.now),
                "unit": unit,
            },
        )


def _a_month(per_day: float) -> Decimal:
    """To two figures: it is an estimate."""
    month = per_day * _MONTH
    return Decimal(int(float(f"{month:.2g}")) if month >= 10 else round(month))


def _parked(stays: Sequence[Stay], as_of: date) -> Iterator[Fact]:
    """The last long stay, from which the next is learned; not when that is entered."""
    if any(stay.until is None for stay in stays):
        return
    ended = [
        (stay.until, stay.start)
        for stay in stays
        if stay.until is not None
        and as_of - _LATELY <= stay.until <= as_of
        and (stay.until - stay.start).days >= LONG
    ]
    if ended:
        until, start = max(ended)
        yield Fact("forecast_parked_before", {"start": start, "until": until})
