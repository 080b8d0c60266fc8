"""The value that a meter will have by the end of each day: what is given, and habit."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from maintenance.core.facts import Stay, Trip, Unit
from maintenance.core.forecast.days import Floats, given_use
from maintenance.core.forecast.learning import Learned
from maintenance.core.forecast.spread import LEVELS, use_ahead
from maintenance.core.forecast.storage import stored_ahead
from maintenance.core.forecast.use import HORIZON_DAYS, Curve
from maintenance.core.forecast.year import Year, year_between

_GRID = np.linspace(0, 1, 192) ** 2  # finer for what is near


def value_ahead(
    learned: Learned | None,
    known: float,
    *,
    unit: Unit,
    first: date,
    last: date,
    as_of: date,
    stays: Sequence[Stay],
    trips: Sequence[Trip],
) -> tuple[Curve, Curve, Curve]:
    """Low, middle and high, from the day `last` on; empty without use.

    `known` is the value then (the last reading's), `first` the day of the first one.
    """
    length = max((as_of - last).days, 0) + HORIZON_DAYS + 1
    given, stated, traveled = given_use(trips, unit=unit, first=last, length=length)
    given[0] = 0.0  # the reading of that day has it
    if learned is None and not given.any():
        return (), (), ()
    curves = np.tile(known + np.cumsum(given), (len(LEVELS), 1))
    if learned is not None:
        stored = stored_ahead(stays, as_of=as_of, first=first, last=last, length=length)
        stored[traveled] = 0.0
        stored[stated] = 1.0  # what the trip states is all their use
        curves += _by_habit(learned, 1 - stored, year_between(stays, as_of), last)
    low, middle, high = (tuple(curve) for curve in curves.tolist())
    return low, middle, high


def _by_habit(learned: Learned, in_use: Floats, year: Year, last: date) -> Floats:
    """Use since `last`, a row for each level of confidence."""
    left, right, share = year.half_months(last, len(in_use))
    season = np.array(learned.season)
    season = season[left] * (1 - share) + season[right] * share
    counted = season * in_use
    counted[0] = 0.0  # the reading of that day has it
    counted = np.cumsum(counted)
    levels = np.array(learned.levels)
    rows = use_ahead(levels, learned.lump, counted[-1] * _GRID)
    return np.stack([np.interp(counted, counted[-1] * _GRID, row) for row in rows])
