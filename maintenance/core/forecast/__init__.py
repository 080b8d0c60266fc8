"""When a meter will reach a value: early, likely and late, from the rig's own use.

The use per day out of stays over the last year is carried on; the band is how much past
spans of the same length differed from each other.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import numpy as np

from maintenance.core.facts import Fact, Stay, Trip, Unit
from maintenance.core.forecast.days import Floats, given_use, stored_days
from maintenance.core.forecast.use import HORIZON_DAYS, Past, Use

__all__ = ["Use", "fit"]

_YEAR = 365
_Z90 = 1.2815515655446004  # standard normal quantile of 0.9


def fit(
    readings: Sequence[tuple[date, Decimal]],
    *,
    unit: Unit,
    as_of: date,
    stays: Sequence[Stay] = (),
    trips: Sequence[Trip] = (),
) -> Use:
    """Fit a meter's use once, so that many values can be asked for.

    `readings` are consistent true values in `unit`, by day, none after `as_of`.
    """
    if not readings:
        why = (Fact("forecast_no_readings", {}),)
        return Use(Past(), as_of, as_of, why=why)
    days = tuple(on for on, _ in readings)
    values = tuple(value for _, value in readings)
    first, last = days[0], days[-1]
    length = (as_of - first).days + HORIZON_DAYS + 1
    in_use = ~stored_days(stays, as_of=as_of, first=first, length=length)
    counted = np.concatenate(([0.0], np.cumsum(in_use)))
    at = np.array([(day - first).days for day in days])
    past = Past(days, values, counted[: at[-1] + 1])
    daily = _daily_use(at, values, in_use)
    rate, spread = _rate(daily, in_use[: at[-1]])
    use, given = given_use(trips, unit=unit, first=last, length=length - at[-1])
    future = in_use[at[-1] :] & ~given
    why = _why(days, values)
    if rate == 0 and not given.any():
        return Use(past, last, as_of, why=why)
    center = float(values[-1]) + np.cumsum(np.where(given, use, future * rate))
    off = spread * np.cumsum(future) ** 0.5 * rate * _Z90
    low = np.maximum.accumulate(np.maximum(center - off, float(values[-1])))
    high = np.maximum.accumulate(center + off)
    return Use(
        past,
        last,
        as_of,
        tuple(low.tolist()),
        tuple(center.tolist()),
        tuple(high.tolist()),
        why,
    )


def _daily_use(
    at: np.ndarray[tuple[int], np.dtype[np.int64]],
    values: Sequence[Decimal],
    in_use: np.ndarray[tuple[int], np.dtype[np.bool_]],
) -> Floats:
    """Each span's use spread evenly over its days out of stays."""
    daily = np.zeros(int(at[-1]))
    for begin, end, low, high in zip(at, at[1:], values, values[1:], strict=False):
        span = in_use[begin:end].astype(np.float64)
        weights = span if span.any() else np.ones(end - begin)
        daily[begin:end] = float(high - low) * weights / weights.sum()
    return daily


def _rate(
    daily: Floats, in_use: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> tuple[float, float]:
    """Use per day in use over the last year, and its spread over a day's use."""
    recent = daily[-_YEAR:]
    counted = max(int(in_use[-_YEAR:].sum()), 1)
    rate = float(recent.sum()) / counted
    if rate == 0:
        return 0.0, 0.0
    months = [daily[i : i + 30].sum() for i in range(0, max(len(daily) - 29, 0), 30)]
    differ = float(np.std(months)) / (30 * rate) if len(months) > 2 else 1.0
    return rate, max(differ, 0.3) * 30**0.5


def _why(days: Sequence[date], values: Sequence[Decimal]) -> tuple[Fact, ...]:
    years = (Decimal((days[-1] - days[0]).days) / Decimal("365.25")).quantize(
        Decimal("0.1")
    )
    facts = [Fact("forecast_rests_on", {"readings": len(days), "years": years})]
    if len(days) < 4:
        facts.append(Fact("forecast_few_readings", {"readings": len(days)}))
    if values[-1] == values[0]:
        facts.append(Fact("forecast_no_use", {}))
    return tuple(facts)
