"""How much a rig is used now: the level, and since when it holds.

A habit holds until it changes. Every fortnight of readings weighs each day since which
the present habit may hold (Adams and MacKay, Bayesian Online Changepoint Detection,
arXiv:0710.3742, 2007), with a gamma prior on the level and use counted in lumps, so
that the evidence is negative binomial (Gelman et al., Bayesian Data Analysis, 3rd ed.,
section 2.6). One fortnight far from what was expected is pulled in to three standard
deviations (Huber, Ann. Math. Stat. 35, 1964): it takes a second to overturn a habit.
"""

from dataclasses import dataclass

import numpy as np

from maintenance.core.forecast.days import Floats, Ints

_LASTS = 3000.0  # days that a habit holds on average
_HALF = 1100.0  # days after which what was seen counts half
_SURE_FIRST = 3.0  # lumps that the first guess of a level weighs
_SURE_NEW = 8.0  # lumps that the old level weighs for a new habit
_PULLED_IN = 3.0  # standard deviations
_HABITS = 24  # starts kept in mind
_LEAST = 1e-6


@dataclass(frozen=True, slots=True)
class Habit:
    """Levels that may hold now, in lumps per day: gamma distributions, weighted.

    `since[i]` is the block that the i-th began with; `path` the mean level after each
    block.
    """

    shape: Floats
    rate: Floats
    weight: Floats
    since: Ints
    path: Floats


def follow(lumps: Floats, days: Floats, lengths: Ints, guess: float) -> Habit:
    """Go through blocks of readings, the oldest first.

    `lumps`: use per block; `days`: its days in use, each counted by its season;
    `lengths`: its calendar days; `guess`: lumps per day to start from.
    """
    habit = Habit(
        np.array([_SURE_FIRST]),
        np.array([_SURE_FIRST / guess]),
        np.ones(1),
        np.zeros(1, dtype=np.int64),
        np.zeros(len(lumps)),
    )
    for i in range(len(lumps)):
        if days[i] > _LEAST:
            if i:
                habit = _may_change(habit, i, int(lengths[i]))
            habit = _weigh(habit, float(lumps[i]), float(days[i]))
        habit.path[i] = habit.weight @ (habit.shape / habit.rate)
    return habit


def in_hindsight(habit: Habit) -> Floats:
    """Lumps per day in each block, knowing when the habit changed last."""
    held = habit.since[:, np.newaxis] <= np.arange(len(habit.path))
    now = (habit.weight * habit.shape / habit.rate) @ held
    level: Floats = now + (habit.weight @ ~held) * habit.path
    return level


def _may_change(habit: Habit, block: int, length: int) -> Habit:
    """Every habit may have ended with this block; the new one is much like it was."""
    changed = 1 - np.exp(-length / _LASTS)
    usual = habit.weight @ (habit.shape / habit.rate)
    kept = 0.5 ** (length / _HALF)
    return Habit(
        _and(habit.shape * kept, _SURE_NEW),
        _and(habit.rate * kept, float(_SURE_NEW / usual)),
        _and(habit.weight * (1 - changed), changed),
        np.concatenate((habit.since, (block,))),
        habit.path,
    )


def _and(values: Floats, one: float) -> Floats:
    """As `np.append`, at a third of its cost: this runs thousands of times a rig."""
    found = np.empty(len(values) + 1)
    found[:-1] = values
    found[-1] = one
    return found


def _weigh(habit: Habit, lumps: float, days: float) -> Habit:
    mean = habit.shape / habit.rate * days
    spread = _PULLED_IN * np.sqrt(mean * (1 + days / habit.rate))
    near = np.minimum(np.maximum(lumps, np.maximum(mean - spread, 0)), mean + spread)
    evidence = _evidence(habit.shape, habit.rate, near, days)
    weight = habit.weight * np.exp(evidence - evidence.max())
    shape, rate, since = habit.shape + near, habit.rate + days, habit.since
    if len(weight) > _HABITS:
        likely = np.sort(np.argsort(weight, kind="stable")[-_HABITS:])
        shape, rate, weight, since = (
            shape[likely],
            rate[likely],
            weight[likely],
            since[likely],
        )
    return Habit(shape, rate, weight / weight.sum(), since, habit.path)


def _evidence(shape: Floats, rate: Floats, lumps: Floats, days: float) -> Floats:
    """Log density of `lumps` in `days`: negative binomial, for counts not whole too."""
    # One call for all three: the arrays are short, and a call costs more than they do.
    drawn, held, counted = log_gamma(
        np.concatenate((shape + lumps, shape, lumps + 1))
    ).reshape(3, -1)
    found: Floats = (
        drawn
        - held
        - counted
        + shape * np.log(rate / (rate + days))
        + lumps * np.log(days / (rate + days))
    )
    return found


def log_gamma(x: Floats) -> Floats:
    """Logarithm of the gamma function for x > 0, to 4e-6.

    Stirling's series (Abramowitz and Stegun, 6.1.40) three steps up, then back down by
    the recurrence (6.1.15). Numpy has none for arrays.
    """
    y = x + 3
    series = (y - 0.5) * np.log(y) - y + 1 / (12 * y) - 1 / (360 * y**3)
    found: Floats = series + 0.5 * np.log(2 * np.pi) - np.log(x * (x + 1) * (x + 2))
    return found
