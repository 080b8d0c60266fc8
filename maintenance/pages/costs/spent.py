"""Money spent, one row per job or fuel stop, from what is on record."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import chain, groupby
from operator import itemgetter
from typing import Any

from maintenance.service_records.models import RecordLine, ServiceRecord
from maintenance.vehicles.models import FuelStop, Rig

CENT = Decimal("0.01")
FUEL = "fuel"
OTHER = "other"
OF_RECORD = ("record__rig", "record__on", "record__currency")
COSTS = ("record__total", "record__labor", "record__parts", "record__tax")


@dataclass(frozen=True, slots=True)
class Spent:
    """`system` is one of the library, `fuel`, or `other` for free lines; `item` is the
    plan item's id, or None."""

    rig: int
    on: date
    system: str
    amount: Decimal
    currency: str
    item: int | None = None


def spent_of(rigs: Iterable[Rig], stops: Iterable[FuelStop]) -> list[Spent]:
    """All that the rigs cost: in one query, and their fuel `stops`."""
    records = ServiceRecord.objects.standing_records().filter(rig__in=rigs)
    lines = RecordLine.objects.filter(record__in=records.order_by().values("pk"))
    lines = lines.order_by("-record__on", "-record", "pk")
    # Of thousands of lines only what is asked for: they need not be whole.
    rows = lines.values_list("record", *OF_RECORD, *COSTS, "item", "item__system")
    found = [_of_record(list(of)) for _pk, of in groupby(rows, key=itemgetter(0))]
    priced = [_of_stop(stop) for stop in stops if stop.price is not None]
    return [*chain(*found), *priced]


def _of_record(lines: list[tuple[Any, ...]]) -> Iterator[Spent]:
    """A bill names no price for each job: it is shared out evenly, to the cent."""
    _pk, rig, on, currency, total, *given, _item, _system = lines[0]
    parts = [amount for amount in given if amount is not None]
    if total is None and not parts:
        return
    paid = sum(parts, Decimal(0)) if total is None else total
    shares = _shares(paid, len(lines))
    for (*_, item, system), amount in zip(lines, shares, strict=True):
        yield Spent(rig, on, system or OTHER, amount, currency, item)


def _shares(total: Decimal, count: int) -> list[Decimal]:
    share = (total / count).quantize(CENT)
    return [total - share * (count - 1), *[share] * (count - 1)]


def _of_stop(stop: FuelStop) -> Spent:
    return Spent(
        rig=stop.reading.meter.rig_id,
        on=stop.reading.on,
        system=FUEL,
        amount=stop.price or Decimal(0),
        currency=stop.currency,
    )


def sums(rows: Iterable[Spent], *keys: str) -> dict[tuple[object, ...], Decimal]:
    """Amounts added up by attributes; `year` is that of the day."""
    found: dict[tuple[object, ...], Decimal] = defaultdict(Decimal)
    for row in rows:
        found[tuple(_key(row, name) for name in keys)] += row.amount
    return dict(found)


def _key(row: Spent, name: str) -> object:
    return row.on.year if name == "year" else getattr(row, name)
