"""From a level and its doubts to quantiles of use.

Use comes in lumps, a tour, a tow, a holiday, so what lies ahead is taken as a gamma
process (van Noortwijk, Reliability Engineering & System Safety 94, 2009): its variance
grows with its mean. One year is also unlike another by a constant share.
"""

from statistics import NormalDist

import numpy as np

from maintenance.core.forecast.days import Floats
from maintenance.core.forecast.habit import Habit

LEVELS = (0.1, 0.5, 0.9)
_UNLIKE = 0.17  # standard deviation of a season against its like, as a share
_TIMING = 2.5  # how much more lumps vary at first: they come sooner or later
_TIMING_DAYS = 100.0  # days in use over which that evens out
_LEVEL_POINTS = 16
_NOISE_POINTS = 9


def _middles(count: int) -> Floats:
    """Standard normal quantiles of the middles of `count` equal shares."""
    normal = NormalDist()
    return np.array([normal.inv_cdf((i + 0.5) / count) for i in range(count)])


_NOISE = _middles(_NOISE_POINTS)


def gamma_quantile(mean: Floats, variance: Floats, normal: Floats) -> Floats:
    """Quantile of a gamma distribution at a standard normal quantile.

    The cube of a normal (Wilson and Hilferty, Proc. Natl. Acad. Sci. 17, 1931): within
    2.5 % of the mean for a variance up to the mean squared; never below 0.
    """
    ninth = variance / (9 * np.maximum(mean, 1e-12) ** 2)
    found: Floats = mean * np.maximum(1 - ninth + normal * np.sqrt(ninth), 0) ** 3
    return found


def levels_now(habit: Habit) -> Floats:
    """Levels that are equally likely, in lumps per day, lowest first."""
    shape, rate = habit.shape[:, np.newaxis], habit.rate[:, np.newaxis]
    points = gamma_quantile(shape / rate, shape / rate**2, _NOISE).ravel()
    weight = np.repeat(habit.weight / _NOISE_POINTS, _NOISE_POINTS)
    order = np.argsort(points, kind="stable")
    weight = weight[order]
    middle = np.cumsum(weight) - weight / 2
    wanted = (np.arange(_LEVEL_POINTS) + 0.5) / _LEVEL_POINTS
    return np.interp(wanted, middle, points[order])


def use_ahead(levels: Floats, lump: float, days: Floats) -> Floats:
    """Use in so many days, each counted by its season: a row for each of `LEVELS`.

    `levels` as `levels_now`; `lump` and the use are in the meter's unit.
    """
    mean = lump * np.outer(levels, days)
    timing = 1 + _TIMING / (1 + days / _TIMING_DAYS)
    variance = timing * lump * mean + (_UNLIKE * mean) ** 2
    members = gamma_quantile(
        mean[:, np.newaxis, :], variance[:, np.newaxis, :], _NOISE[:, np.newaxis]
    )
    members = members.reshape(-1, len(days))
    rows: Floats = np.quantile(members, LEVELS, axis=0)
    return np.maximum.accumulate(rows, axis=1)
