"""A meter's past as the estimator takes it: use per span between readings."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from maintenance.core.forecast.days import Flags, Floats, Ints
from maintenance.core.forecast.year import HALF_MONTHS, Year

_LOOK_BACK = 6 * 365  # days; what lies before says little about now
_APART = 7  # days between readings: closer ones say more of the day than of the habit


@dataclass(frozen=True, slots=True)
class History:
    """Spans between readings, and the days in use in each by half month.

    Days are counted from `first`; span i runs from `at[i]` up to `at[i + 1]`.
    """

    first: date
    at: Ints
    use: Floats  # per span, in the meter's unit
    in_use: Floats  # spans x half months, in days

    @property
    def lengths(self) -> Ints:
        return np.diff(self.at)

    @property
    def days_in_use(self) -> Floats:
        days: Floats = self.in_use.sum(axis=1)
        return days


def read_history(
    days: Sequence[date],
    values: Sequence[Decimal],
    at: Ints,
    stored: Flags,
    year: Year,
) -> History:
    """The last six years; `at` and `stored` count days from `days[0]`."""
    begin = max(int(np.searchsorted(at, at[-1] - _LOOK_BACK)) - 1, 0)
    kept = _spaced(at, begin)
    start = int(at[begin])
    spans = at[kept] - start
    use = np.maximum(np.diff([float(values[i]) for i in kept]), 0.0)
    active = ~stored[start : int(at[-1])]
    before = np.concatenate(([0], np.cumsum(active)))
    for i in np.flatnonzero((np.diff(before[spans]) == 0) & (use > 0)):
        active[spans[i] : spans[i + 1]] = True  # it did move while entered as stored
    places = year.half_months(days[begin], len(active))
    return History(days[begin], spans, use, _by_half_month(places, spans, active))


def _spaced(at: Ints, begin: int) -> list[int]:
    """Readings at least a week apart, the first and the last in any case."""
    kept = [begin]
    last = len(at) - 1
    for i in range(begin + 1, last + 1):
        if at[i] - at[kept[-1]] >= _APART or i == last:
            kept.append(i)
    return kept


def _by_half_month(
    places: tuple[Ints, Ints, Floats], spans: Ints, active: Flags
) -> Floats:
    left, right, share = places
    daily = np.zeros((len(active) + 1, HALF_MONTHS))
    row = np.arange(1, len(active) + 1)
    daily[row, left] = (1 - share) * active
    daily[row, right] = share * active
    by_span: Floats = np.diff(np.cumsum(daily, axis=0)[spans], axis=0)
    return by_span
