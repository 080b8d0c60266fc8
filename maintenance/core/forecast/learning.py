"""Level, season and size of a lump, each found with the others held."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from maintenance.core.facts import Unit
from maintenance.core.forecast.days import Floats, Ints
from maintenance.core.forecast.habit import Habit, follow, in_hindsight
from maintenance.core.forecast.history import History
from maintenance.core.forecast.season import even_year, shape_year
from maintenance.core.forecast.spread import levels_now

# Judgment, not published: where there is next to nothing to go by. A lump is a usual
# tour (an engine or a generator runs for some hours at a time), the use that of a rig
# driven 7,300 mi a year. Both give way to the rig's own readings within weeks.
LUMP: dict[Unit, float] = {"mi": 150.0, "km": 241.0, "h": 5.0}
USUAL_PER_DAY: dict[Unit, float] = {"mi": 20.0, "km": 32.0, "h": 0.5}
ENOUGH_DAYS = 60  # days in use from which on a rig's own use speaks for itself
_LUMPS_KNOWN = 2.0  # pairs of blocks that the usual lump weighs
_BLOCK = 14  # days
_LEAST_LUMP = 0.2  # of the usual one: no use is as even as few readings may look
_ROUNDS = 3
_SOME_USE = 5.0  # days in use that a block needs to tell of lumps


@dataclass(frozen=True, slots=True)
class Change:
    """The last change of habit: its day, how sure that is (0 to 1), and the use per day
    of before and of now, in the meter's unit."""

    since: date
    sure: float
    before: float
    now: float


@dataclass(frozen=True, slots=True)
class Learned:
    """What a meter's past says.

    `levels`: as `levels_now`, in lumps per day; `season`: use in each half month, 1
    being the level; `lump` in the meter's unit.
    """

    levels: tuple[float, ...]
    season: tuple[float, ...]
    lump: float
    change: Change | None = None


def learn(history: History, unit: Unit) -> Learned | None:
    """None when the readings show no use."""
    total, days = float(history.use.sum()), float(history.days_in_use.sum())
    if total <= 0:
        return None
    unseen = max(ENOUGH_DAYS - days, 0.0)
    usual = (total + USUAL_PER_DAY[unit] * unseen) / (days + unseen)
    starts = _blocks(history.at)
    block_of = np.repeat(np.arange(len(starts)), np.diff([*starts, len(history.use)]))
    lengths = np.add.reduceat(history.lengths, starts)
    use = np.add.reduceat(history.use, starts)
    level, shape = np.full(len(use), usual), even_year()
    for _ in range(_ROUNDS):
        shape = shape_year(history, level[block_of], shape)
        counted = np.add.reduceat(history.in_use @ shape, starts)
        lump = _lump(use, counted, level, LUMP[unit])
        habit = follow(use / lump, counted, lengths, usual / lump)
        level = in_hindsight(habit) * lump
    begins = history.at[starts]
    return Learned(
        tuple(levels_now(habit).tolist()),
        tuple(shape.tolist()),
        lump,
        _last_change(habit, lump, history.first, begins),
    )


def _last_change(habit: Habit, lump: float, first: date, begins: Ints) -> Change | None:
    """With the block that the present habit most likely began with, or the next."""
    block = int(habit.since[habit.weight.argmax()])
    if not block:
        return None
    return Change(
        since=first + timedelta(days=int(begins[block])),
        sure=float(habit.weight[abs(habit.since - block) <= 1].sum()),
        before=float(habit.path[block - 1]) * lump,
        now=float(habit.weight @ (habit.shape / habit.rate)) * lump,
    )


def _blocks(at: Ints) -> list[int]:
    """Spans that begin a block of at least a fortnight, put together from the end."""
    starts = []
    end = len(at) - 1
    for i in range(len(at) - 2, -1, -1):
        if at[end] - at[i] >= _BLOCK or i == 0:
            starts.append(i)
            end = i
    if len(starts) > 1 and at[starts[-2]] - at[0] < _BLOCK / 2:
        del starts[-2]  # what is left at the beginning joins the block after it
    return starts[::-1]


def _lump(use: Floats, days: Floats, level: Floats, usual: float) -> float:
    """Variance of use over its mean, from each block and the one after it.

    Differences of neighbors do not see a level that moves (von Neumann et al., Ann.
    Math. Stat. 12, 1941).
    """
    some = days > _SOME_USE
    use, days, level = use[some], days[some], level[some]
    rate, share = use / np.maximum(days, _SOME_USE), 1 / np.maximum(days, _SOME_USE)
    both = (level * days)[1:] + (level * days)[:-1]
    here = both / (days[1:] + days[:-1])
    lumps = np.diff(rate) ** 2 / np.maximum(here * (share[1:] + share[:-1]), 1e-9)
    found = (usual * _LUMPS_KNOWN + lumps.sum()) / (_LUMPS_KNOWN + len(lumps))
    return max(float(found), usual * _LEAST_LUMP)
