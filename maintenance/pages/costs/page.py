"""The page of costs, as plain values for its template."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.plans.drafts import system_title
from maintenance.vehicles.fuel import stops_of
from maintenance.vehicles.models import FuelStop, Rig
from maintenance.vehicles.queries import use_facts

from .ahead import Ahead, ahead_of
from .of_use import RigCost, rig_costs
from .spent import FUEL, OTHER, Spent, spent_of, sums


@dataclass(frozen=True)
class CostTable:
    """Rows of amounts by year, with their sums."""

    currency: str
    years: list[int]
    rows: list[tuple[str, list[Decimal], Decimal]]
    totals: list[Decimal]
    total: Decimal

    @property
    def by_year(self) -> list[tuple[int, Decimal]]:
        """In the order of the table's columns."""
        return list(zip(self.years, self.totals, strict=True))

    @property
    def most(self) -> Decimal:
        return max(self.totals, default=Decimal(0))


@dataclass(frozen=True)
class CostPage:
    by_rig: list[CostTable]
    by_system: list[CostTable]
    rigs: list[RigCost]
    ahead: Ahead
    stops: list[FuelStop]  # the newest first


def cost_page(rigs: Sequence[Rig], *, currency: str, today: date) -> CostPage:
    """All costs of these rigs; a table for each currency."""
    stops, known = stops_of(rigs), use_facts(rigs, today)
    spent = spent_of(rigs, stops)
    names = {rig.pk: rig.name for rig in rigs}
    return CostPage(
        by_rig=_tables(spent, "rig", names),
        by_system=_tables(spent, "system", _titles(spent)),
        rigs=rig_costs(rigs, known, stops, spent, currency=currency, today=today),
        ahead=ahead_of(rigs, known, spent, currency, today),
        stops=stops[::-1],
    )


def _titles(spent: Sequence[Spent]) -> dict[str, str]:
    own = {FUEL: "Fuel", OTHER: "Work not on the plan"}
    systems = {row.system for row in spent}
    return {name: own.get(name) or system_title(name) for name in systems}


def _tables(
    spent: Sequence[Spent], key: str, names: Mapping[Any, str]
) -> list[CostTable]:
    currencies = sorted({row.currency for row in spent})
    return [
        _table([row for row in spent if row.currency == currency], key, names, currency)
        for currency in currencies
    ]


def _table(
    spent: Sequence[Spent], key: str, names: Mapping[Any, str], currency: str
) -> CostTable:
    found = sums(spent, key, "year")
    newest, oldest = max(row.on.year for row in spent), min(r.on.year for r in spent)
    years = list(range(max(oldest, newest - 4), newest + 1))
    rows = []
    for one in sorted({x for x, _year in found}, key=lambda x: names[x]):
        amounts = [found.get((one, year), Decimal(0)) for year in years]
        if any(amounts):
            rows.append((names[one], amounts, sum(amounts, Decimal(0))))
    columns = zip(*(amounts for _name, amounts, _sum in rows), strict=True)
    totals = [sum(column, Decimal(0)) for column in columns]
    return CostTable(currency, years, rows, totals, sum(totals, Decimal(0)))
