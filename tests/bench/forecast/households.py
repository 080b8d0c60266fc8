"""Invented households whose use of a rig is known to the day, past and future.

Four patterns (`PATTERNS`): full-time travel, long seasonal moves with storage, summer
weekends, and a commuter's truck that also tows and whose habit changes. A case hides
the daily use behind readings 9 to 45 days apart on average over 1.4 to 5 years.
Shares of households that enter stays and trips stand in `enters_*` below.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from maintenance.core.facts import Stay, Trip

LONG_DAY = 600.0  # miles that a household drives in one day at most
CAP_DAYS = 5479  # 15 years: what is reached later counts as reached on that day
# A stream's number seeds every draw of its cases, beside pattern and case number: no
# case of one stream is ever one of another. The estimator was tuned on `tune` alone.
# When it changes after its score was seen, `score` moves on to a number never used
# (before: 90_001).
STREAMS = {"tune": 20_240, "score": 90_002}

Floats = NDArray[np.float64]


@dataclass(slots=True)
class Life:
    """A rig's real use per day from `start`, and what really happened to it.

    `holidays` are (first day, days, miles), `stored` (first day, day it ended).
    """

    start: date
    as_of: int
    use: Floats
    stored: list[tuple[int, int]] = field(default_factory=list)
    holidays: list[tuple[int, int, float]] = field(default_factory=list)

    def day(self, at: int) -> date:
        return self.start + timedelta(days=at)


@dataclass(frozen=True, slots=True)
class Case:
    pattern: str
    number: int
    as_of: date
    readings: tuple[tuple[date, Decimal], ...]
    stays: tuple[Stay, ...]
    trips: tuple[Trip, ...]
    target: Decimal
    truth: int  # days from as_of until the target is reached, at most CAP_DAYS


def yearly_levels(rng: Generator, life: Life, spread: float) -> Floats:
    """A factor per day: the household's appetite wanders a little from year to year."""
    years = len(life.use) // 365 + 2
    steps = np.cumsum(rng.normal(0, spread, years)) * 0.5 + rng.normal(0, spread, years)
    return np.exp(np.repeat(steps, 365)[: len(life.use)])


def years_of(life: Life) -> range:
    return range(life.start.year - 1, life.day(len(life.use) - 1).year + 2)


def index_of(life: Life, year: int, day_of_year: float) -> int:
    return (date(year, 1, 1) - life.start).days + round(day_of_year)


def add(life: Life, at: int, miles: float) -> None:
    if 0 <= at < len(life.use):
        life.use[at] += miles


def spread_over(rng: Generator, life: Life, at: int, days: int, miles: float) -> None:
    """Drive `miles` over `days` days: some of them long, some hardly at all."""
    shares = rng.dirichlet(np.full(days, 1.5))
    for i, share in enumerate(shares):
        add(life, at + i, miles * share)


def full_time(traits: Generator, rng: Generator, life: Life) -> None:
    camp, leg = traits.uniform(3, 11), traits.uniform(90, 260)
    slower_in_winter = traits.uniform(1, 2.5)
    rests = traits.uniform(0, 1.2)
    local = traits.uniform(0, 6)
    level = yearly_levels(rng, life, 0.12)
    life.use += rng.exponential(local, len(life.use)) * (
        rng.random(len(life.use)) < 0.4
    )
    at = 0
    while at < len(life.use):
        add(life, at, min(level[at] * leg * rng.lognormal(-0.12, 0.5), LONG_DAY))
        winter = life.day(at).month in (12, 1, 2)
        stand = rng.gamma(1.5, camp / 1.5) * (slower_in_winter if winter else 1)
        if rng.random() < rests * (stand + 1) / 365:
            stand += rng.uniform(25, 80)
        at += 1 + round(stand)


def seasonal_moves(traits: Generator, rng: Generator, life: Life) -> None:
    """North in spring, south in autumn, stored for one half of the year."""
    winter_stored = traits.random() < 0.6
    away = traits.uniform(280, 325) if winter_stored else traits.uniform(85, 140)
    back = away + traits.uniform(100, 190)
    jitter = traits.uniform(4, 14)
    move, days = traits.uniform(700, 2200), int(traits.integers(6, 16))
    side, local = traits.uniform(80, 350), traits.uniform(0, 5)
    level = yearly_levels(rng, life, 0.1)
    dates: list[tuple[int, int]] = []
    for year in years_of(life):
        start = index_of(life, year, away + rng.normal(0, jitter))
        end = index_of(life, year, back + rng.normal(0, jitter))
        dates.append((start, end))
    life.stored = dates
    for (_, out), (into, _) in pairwise(dates):
        factor = level[min(max(out, 0), len(level) - 1)]
        spread_over(rng, life, out, days, factor * move * rng.lognormal(0, 0.12))
        spread_over(rng, life, into - days, days, move * rng.lognormal(0, 0.12))
        for at in range(out + days, into - days):
            add(life, at, rng.exponential(local) * (rng.random() < 0.5))
            if rng.random() < 1 / 20:
                add(life, at, factor * side * rng.lognormal(-0.1, 0.5))


def summer_weekends(traits: Generator, rng: Generator, life: Life) -> None:
    opens, closes = traits.uniform(90, 140), traits.uniform(250, 300)
    jitter, goes = traits.uniform(3, 12), traits.uniform(0.35, 0.85)
    outing = traits.uniform(60, 240)
    holiday, when = traits.uniform(400, 1800), traits.uniform(170, 225)
    level = yearly_levels(rng, life, 0.15)
    last_end = None
    for year in years_of(life):
        first = index_of(life, year, opens + rng.normal(0, jitter))
        last = index_of(life, year, closes + rng.normal(0, jitter))
        factor = level[min(max(first, 0), len(level) - 1)]
        for at in range(first, last):
            if life.day(at).weekday() == 5 and rng.random() < goes:
                miles = factor * outing * rng.lognormal(-0.1, 0.45)
                spread_over(rng, life, at, 2, miles)
        at = index_of(life, year, when + rng.normal(0, 15))
        days = int(rng.integers(7, 19))
        miles = factor * holiday * rng.lognormal(0, 0.25)
        spread_over(rng, life, at, days, miles)
        life.holidays.append((at, days, miles))
        if last_end is not None:
            life.stored.append((last_end, first - int(rng.integers(1, 8))))
        last_end = last + int(rng.integers(2, 25))


def commuter_tows(traits: Generator, rng: Generator, life: Life) -> None:
    """A truck to work and back that tows in summer; some day work moves."""
    drive, errand = traits.uniform(12, 70), traits.uniform(5, 30)
    tows, outing = traits.uniform(0.2, 0.6), traits.uniform(80, 350)
    less = traits.random() < 0.6
    shift = traits.uniform(0.1, 0.5) if less else traits.uniform(1.6, 2.5)
    changed = life.as_of - int(traits.integers(30, min(life.as_of - 90, 600)))
    level = yearly_levels(rng, life, 0.06)
    for at in range(len(life.use)):
        day = life.day(at)
        if day.weekday() < 5:
            miles = drive * (shift if at >= changed else 1) * rng.lognormal(-0.02, 0.2)
            add(life, at, level[at] * miles * (rng.random() < 0.92))
        else:
            add(life, at, rng.exponential(errand))
        if day.weekday() == 5 and 5 <= day.month <= 9 and rng.random() < tows:
            spread_over(rng, life, at, 2, outing * rng.lognormal(-0.1, 0.4))
    for year in years_of(life):
        at, days = index_of(life, year, rng.normal(200, 20)), int(rng.integers(8, 20))
        life.use[max(at, 0) : max(at + days, 0)] = 0
        miles = rng.uniform(600, 2000)
        spread_over(rng, life, at, days, miles)
        life.holidays.append((at, days, miles))


PATTERNS: dict[str, Callable[[Generator, Generator, Life], None]] = {
    "full-time": full_time,
    "seasonal moves": seasonal_moves,
    "summer weekends": summer_weekends,
    "commuter tows": commuter_tows,
}


def read_meter(rng: Generator, life: Life, total: Floats) -> list[tuple[date, Decimal]]:
    """Readings 9 to 45 days apart on average: some in clusters, some evenly."""
    gap, evenness = rng.uniform(9, 45), rng.uniform(0.6, 4)
    at, seen = 0.0, {}
    while at <= life.as_of:
        seen[int(at)] = Decimal(round(float(total[int(at)])))
        at += max(rng.gamma(evenness, gap / evenness), 1)
    return [(life.day(i), value) for i, value in seen.items()]


def enter_stays(rng: Generator, life: Life) -> tuple[Stay, ...]:
    """65 % enter their past stays; of those, 50 % also when the stay now on is to end,
    and 40 % the next one with its days, which turn out some days different."""
    enters, plans_end, plans_next = rng.random(3) < (0.65, 0.5, 0.4)
    if not enters:
        return ()
    stays = []
    for begin, end in sorted(life.stored):
        off = [int(x) for x in rng.normal(0, 5, 2).round()]
        if end <= 0 or begin > life.as_of + 300:
            continue
        if end <= life.as_of:
            stays.append(Stay(life.day(begin), life.day(end)))
        elif begin <= life.as_of:
            planned = life.day(max(end + off[1], life.as_of + 1)) if plans_end else None
            stays.append(Stay(life.day(begin), None, planned))
            break
        elif plans_next:
            start = life.day(max(begin + off[0], life.as_of + 1))
            stays.append(Stay(start, None, life.day(end + off[1])))
            break
    return tuple(stays)


def enter_trips(rng: Generator, life: Life) -> tuple[Trip, ...]:
    """25 % enter their next holiday, its distance known to about 15 %."""
    if rng.random() >= 0.25:
        return ()
    for at, days, miles in sorted(life.holidays):
        if life.as_of < at < life.as_of + 200:
            distance = Decimal(round(miles * rng.lognormal(0, 0.15) / 50) * 50 + 50)
            return (Trip(life.day(at), life.day(at + days - 1), distance, "mi"),)
    return ()


def make_case(pattern: str, number: int, stream: str) -> Case:
    """The case `number` of a pattern; each stream has random numbers of its own."""
    kind = list(PATTERNS).index(pattern)
    rng = np.random.default_rng([STREAMS[stream], kind, number, 0])
    traits = np.random.default_rng([STREAMS[stream], kind, number, 1])
    history = round(rng.uniform(1.4, 5) * 365.25)
    start = date(2015, 1, 1) + timedelta(days=int(rng.integers(0, 1461)))
    life = Life(start, history, np.zeros(history + CAP_DAYS + 1))
    PATTERNS[pattern](traits, rng, life)
    total = rng.uniform(50, 60_000) + np.cumsum(life.use)
    readings = read_meter(rng, life, total)
    ahead = 500 * 24 ** rng.random()  # 500 to 12,000 mi, as many short as long ones
    target = Decimal(round(float(total[history]) + ahead))
    truth = int(np.searchsorted(total, float(target))) - history
    return Case(
        pattern,
        number,
        life.day(history),
        tuple(readings),
        enter_stays(rng, life),
        enter_trips(rng, life),
        target,
        min(truth, CAP_DAYS),
    )
