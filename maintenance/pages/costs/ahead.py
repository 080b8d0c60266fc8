"""The next twelve months: windows to come, times what each job cost before."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.calculators.cost import Job, YearAhead, year_ahead
from maintenance.core.dates import add_months
from maintenance.core.triggers import parse_triggers
from maintenance.library.effort import DAYS, YearOfUse, times_a_year
from maintenance.plans.effort import year_of
from maintenance.plans.models import Standing
from maintenance.plans.queries import standings_of
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import RigFacts

from .spent import Spent


@dataclass(frozen=True)
class Ahead:
    """The range, and how many of the jobs to come have an earlier price."""

    year: YearAhead
    priced: int

    @property
    def span(self) -> tuple[Decimal, Decimal, Decimal]:
        """Low, likely and high, to the tens: more would feign precision."""
        amounts = (self.year.low, self.year.likely, self.year.high)
        low, likely, high = (round(amount, -1) for amount in amounts)
        return low, likely, high

    @property
    def unpriced(self) -> int:
        return len(self.year.without_price)


def ahead_of(
    rigs: Sequence[Rig],
    known: Mapping[int, RigFacts],
    spent: Iterable[Spent],
    currency: str,
    today: date,
) -> Ahead:
    """Earlier prices in another currency than the household's do not count."""
    prices: dict[int, list[Decimal]] = defaultdict(list)
    for row in spent:
        if row.item is not None and row.currency == currency:
            prices[row.item].append(row.amount)
    years = {rig.pk: year_of(rig, today, known[rig.pk])[0] for rig in rigs}
    jobs = []
    for standing in _asking(rigs):
        item, paid = standing.item, tuple(prices[standing.item_id])
        windows = [_window(standing)]
        if paid:  # of a job without a price it is told alone that it is to come
            windows += _later_windows(standing, years[item.rig_id], today)
        jobs.append(Job(f"{item.rig.name}: {item.title}", tuple(windows), paid))
    return Ahead(year_ahead(jobs, as_of=today), sum(bool(job.prices) for job in jobs))


def _asking(rigs: Sequence[Rig]) -> list[Standing]:
    if not rigs:
        return []
    rows = standings_of(rigs[0].household).filter(item__rig__in=rigs)
    return list(rows.filter(closes_on__isnull=False).defer("result", "why"))


def _window(standing: Standing) -> tuple[date, date]:
    """The one that stands."""
    closes = standing.closes_on or date.max
    return min(standing.opens_on or closes, closes), closes


def _later_windows(
    standing: Standing, year: YearOfUse, today: date
) -> list[tuple[date, date]]:
    """Those that will follow it within twelve months if each is met: as often as the
    item's rules ask in a year of this rig."""
    opens, closes = _window(standing)
    windows = []
    rules = parse_triggers(standing.item.triggers, standing.item.key)
    often = Decimal(0) if standing.item.once else times_a_year(rules, year)
    if often > 0:
        step = timedelta(days=max(1, int(DAYS / often)))
        until, start = add_months(today, 12), max(closes, today)
        while (start := start + step) <= until:
            windows.append((start - (closes - opens), start))
    return windows
