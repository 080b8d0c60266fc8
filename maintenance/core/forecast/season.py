"""The shape of a year: how much more or less a rig is used in each half month.

Readings are weeks apart, so a half month's use is not seen but must be found from spans
that reach over several: a Poisson expectation maximization for indirect observations
(Dempster, Laird and Rubin, J. R. Stat. Soc. B 39, 1977), each half month drawn to its
neighbors (Silverman et al., J. R. Stat. Soc. B 52, 1990) and a little to an even year.
"""

import numpy as np

from maintenance.core.forecast.days import YEAR, Floats
from maintenance.core.forecast.history import History
from maintenance.core.forecast.year import HALF_MONTHS

_FADE = 0.75  # weight of a year against the one after it
_NEIGHBORS = 3  # half months to either side
_DRAWN = 10.0  # days in use that the neighbors weigh
_EVEN = 2.0  # days in use that an even year weighs
_STEPS = 4
_LEAST = 1e-3


def shape_year(history: History, level: Floats, shape: Floats) -> Floats:
    """The shape by half month, 1 being the level; `level` is the use per day by span.

    `shape` is where to start: ones, or what came out for another level.
    """
    ages = (history.at[-1] - history.at[1:]) / YEAR
    weight = _FADE**ages
    expected = history.in_use * (weight * level)[:, np.newaxis]
    seen = expected.sum(axis=0)
    days = float(weight @ history.days_in_use)
    usual = float(seen.sum()) / days if days else 0.0
    drawn, even = _DRAWN * usual, _EVEN * usual
    for _ in range(_STEPS):
        found = level * (history.in_use @ shape)
        ratio = np.divide(history.use, found, out=np.zeros_like(found), where=found > 0)
        near = (around(shape * seen) + even) / (around(seen) + even)
        shape = (drawn * near + shape * (expected.T @ ratio)) / (drawn + seen)
        shape = np.maximum(shape, _LEAST)
    return shape


def around(values: Floats) -> Floats:
    """A mean over the half months around each, nearer ones counting more."""
    kernel = np.bartlett(2 * _NEIGHBORS + 3)[1:-1]
    turned = np.concatenate((values[-_NEIGHBORS:], values, values[:_NEIGHBORS]))
    mean: Floats = np.convolve(turned, kernel / kernel.sum(), "valid")
    return mean


def even_year() -> Floats:
    return np.ones(HALF_MONTHS)
