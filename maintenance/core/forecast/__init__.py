"""When a meter will reach a value: early, likely and late, from the rig's own use.

The use ahead is level x season x days not in a stay, and a doubt about each:

- *level*: what the rig is used now. A habit holds until it changes; when it last did is
  weighed over all blocks of readings (`habit`).
- *season*: how each half month differs from the year, from spans of readings that reach
  over several, older years counting less (`season`); where stays recur, the seasons lie
  between them (`year`).
- *days in a stay* count nothing: entered stays and plans are taken as given, else stays
  recur as in years past, whether they were entered or show as a season of no use
  (`storage`). The distance of a trip is taken as given for its days.
- *doubt*: the level has a posterior distribution, use comes in lumps (a gamma process),
  and one year is unlike another (`spread`).

The estimator is our own; the parts name their sources. It is fitted once per meter,
into three curves by day; a question is then a look-up. No chance enters: the same
readings give the same dates.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import numpy as np

from maintenance.core.facts import Stay, Trip, Unit
from maintenance.core.forecast.days import Floats, given_use, stored_days
from maintenance.core.forecast.history import read_history
from maintenance.core.forecast.learning import Learned, learn
from maintenance.core.forecast.reasons import reasons
from maintenance.core.forecast.spread import use_ahead
from maintenance.core.forecast.storage import stored_ahead
from maintenance.core.forecast.use import HORIZON_DAYS, Past, Use
from maintenance.core.forecast.year import Year, year_between

__all__ = ["Use", "fit"]

_GRID = np.linspace(0, 1, 192) ** 2  # finer for what is near


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
        return Use(Past(), as_of, as_of, why=reasons((), (), unit, None))
    days = tuple(on for on, _ in readings)
    values = tuple(value for _, value in readings)
    first, last = days[0], days[-1]
    at = np.array([(day - first).days for day in days])
    stored = stored_days(stays, as_of=as_of, first=first, length=int(at[-1]))
    counted = np.concatenate(([0.0], np.cumsum(~stored)))
    past = Past(days, values, counted)
    year = year_between(stays, as_of)
    learned = None
    if len(days) > 1:
        learned = learn(read_history(days, values, at, stored, year), unit)
    why = reasons(days, values, unit, learned)
    length = (as_of - last).days + HORIZON_DAYS + 1
    given, stated, traveled = given_use(trips, unit=unit, first=last, length=length)
    if learned is None and not stated.any():
        return Use(past, last, as_of, why=why)
    given[0] = 0.0  # the reading of that day has it
    known = float(values[-1]) + np.cumsum(given)
    if learned is None:
        curves = np.tile(known, (3, 1))
    else:
        stored_share = stored_ahead(
            stays, as_of=as_of, first=first, last=last, length=length
        )
        stored_share[traveled] = 0.0
        stored_share[stated] = 1.0  # their use is in `known`
        curves = known + _by_habit(learned, 1 - stored_share, year, last)
    low, mid, high = (tuple(curve) for curve in curves.tolist())
    return Use(past, last, as_of, low, mid, high, why)


def _by_habit(learned: Learned, in_use: Floats, year: Year, last: date) -> Floats:
    """Use by the end of each day from `last` on, a row for each level of confidence."""
    left, right, share = year.half_months(last, len(in_use))
    season = learned.shape[left] * (1 - share) + learned.shape[right] * share
    counted = season * in_use
    counted[0] = 0.0  # the reading of that day has it
    counted = np.cumsum(counted)
    grid = counted[-1] * _GRID
    rows = use_ahead(learned.habit, learned.lump, grid)
    return np.stack([np.interp(counted, grid, row) for row in rows])
