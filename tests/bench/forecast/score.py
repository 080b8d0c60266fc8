"""Score of the forecast: coverage of the 80 % band, pinball loss against plain rates.

The loss is the check function of Koenker and Bassett (Econometrica 46, 1978), a proper
score for quantiles by Gneiting and Raftery (J. Am. Stat. Assoc. 102, 2007, section 6).
A plain rate is distance over calendar days to the last reading; its one day stands for
all three quantiles. Of the three rates a row takes the one with the least mean loss
over its cases, so the pool has one rate for all.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import NamedTuple

from maintenance.core.forecast import fit
from tests.bench.forecast.households import CAP_DAYS, Case

LEVELS = (0.1, 0.5, 0.9)
RATES = {"lifetime": None, "last year": 365, "last 90 days": 90}


class Row(NamedTuple):
    """One line of the table. `best` is the plain rate with the smallest mean loss."""

    name: str
    cases: int
    coverage: float
    below: float  # share of truths before the early date
    above: float
    loss: float
    ratio: float
    best: str
    width: float  # mean days from early to late


@dataclass(frozen=True, slots=True)
class Scored:
    case: Case
    days: tuple[int, int, int]
    plain: dict[str, int]


def pinball(truth: float, quantile: float, level: float) -> float:
    """Loss of a stated quantile: `level` per day too early, 1 - `level` too late."""
    off = truth - quantile
    return level * off if off >= 0 else (level - 1) * off


def mean_pinball(truth: float, quantiles: Sequence[float]) -> float:
    return sum(
        pinball(truth, quantile, level)
        for quantile, level in zip(quantiles, LEVELS, strict=True)
    ) / len(LEVELS)


def covered(truth: float, low: float, high: float) -> bool:
    return low <= truth <= high


def plain_days(case: Case, window: int | None) -> int:
    """Days from as_of to the target at a plain rate; the cap at no rate."""
    days = [on for on, _ in case.readings]
    values = [float(value) for _, value in case.readings]
    first = days[0] if window is None else days[-1] - timedelta(days=window)
    if first <= days[0]:
        first, begin = days[0], values[0]
    else:
        at = bisect_left(days, first)
        share = (first - days[at - 1]) / (days[at] - days[at - 1])
        begin = values[at - 1] + share * (values[at] - values[at - 1])
    rate = (values[-1] - begin) / max((days[-1] - first).days, 1)
    if rate <= 0:
        return CAP_DAYS
    ahead = (float(case.target) - values[-1]) / rate
    return min(max(round(ahead) - (case.as_of - days[-1]).days, 0), CAP_DAYS)


def score_case(case: Case) -> Scored:
    use = fit(
        case.readings, unit="mi", as_of=case.as_of, stays=case.stays, trips=case.trips
    )
    dates = use.reach(case.target)
    early, likely, late = (
        CAP_DAYS if day is None else min((day - case.as_of).days, CAP_DAYS)
        for day in (dates.early, dates.likely, dates.late)
    )
    plain = {name: plain_days(case, window) for name, window in RATES.items()}
    return Scored(case, (early, likely, late), plain)


def mean(values: Iterable[float]) -> float:
    listed = list(values)
    return sum(listed) / len(listed)


def summarize(name: str, scored: Sequence[Scored]) -> Row:
    losses = {
        rate: mean(mean_pinball(s.case.truth, (s.plain[rate],) * 3) for s in scored)
        for rate in RATES
    }
    best = min(losses, key=lambda rate: losses[rate])
    ours = mean(mean_pinball(s.case.truth, s.days) for s in scored)
    return Row(
        name,
        len(scored),
        mean(covered(s.case.truth, s.days[0], s.days[2]) for s in scored),
        mean(s.case.truth < s.days[0] for s in scored),
        mean(s.case.truth > s.days[2] for s in scored),
        ours,
        ours / losses[best],
        best,
        mean(s.days[2] - s.days[0] for s in scored),
    )


def table(
    scored: Sequence[Scored], key: Callable[[Scored], str] = lambda s: s.case.pattern
) -> list[Row]:
    """A row for each group of `key`, then the pool."""
    names = dict.fromkeys(key(s) for s in scored)
    rows = [summarize(name, [s for s in scored if key(s) == name]) for name in names]
    return [*rows, summarize("pooled", scored)]


def strict_ratio(scored: Sequence[Scored], rows: Sequence[Row]) -> float:
    """The pooled ratio if each pattern may take the plain rate that suits it best."""
    patterns, pool = rows[:-1], rows[-1]
    plain = sum(row.cases * row.loss / row.ratio for row in patterns)
    return pool.loss * len(scored) / plain


def show(rows: Sequence[Row]) -> str:
    head = (
        "pattern            cases  in band  before  after   loss  ratio  "
        "best plain rate  band"
    )
    lines = [head]
    for r in rows:
        lines.append(
            f"{r.name:<18} {r.cases:>5}  {r.coverage:>7.3f}  {r.below:>6.3f} "
            f"{r.above:>6.3f} {r.loss:>6.1f}  {r.ratio:>5.3f}  {r.best:<15} "
            f"{r.width:>5.0f}"
        )
    return "\n".join(lines)
