"""Money spent, one row per job or fuel stop, from what is on record."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.service_records.models import RecordLine, ServiceRecord
from maintenance.vehicles.models import FuelStop, Rig

CENT = Decimal("0.01")
FUEL = "fuel"
OTHER = "other"
COSTS = ("total", "labor", "parts", "tax")


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


def spent_of(rigs: Iterable[Rig]) -> list[Spent]:
    """All that the rigs cost, in two queries and one for the lines."""
    ids = [rig.pk for rig in rigs]
    # Of thousands of records and lines only what is asked for: they need not be whole.
    records = ServiceRecord.objects.standing_records().filter(rig__in=ids)
    records = records.only("rig_id", "on", "currency", *COSTS)
    lines = defaultdict(list)
    asked = RecordLine.objects.filter(record__in=records.order_by().values("pk"))
    names = ("record_id", "item_id", "item__system")
    for record, item, system in asked.order_by("pk").values_list(*names):
        lines[record].append((item, system or OTHER))
    rows = [row for record in records for row in _of_record(record, lines[record.pk])]
    stops = FuelStop.objects.filter(
        reading__meter__rig__in=ids, reading__withdrawn=False, price__isnull=False
    ).select_related("reading__meter")
    return rows + [_of_stop(stop) for stop in stops]


def total_of(record: ServiceRecord) -> Decimal | None:
    """The total as given, else what was given of its parts; None: no cost on record."""
    if record.total is not None:
        return record.total
    given = [x for x in (record.labor, record.parts, record.tax) if x is not None]
    return sum(given, Decimal(0)) if given else None


def _of_record(
    record: ServiceRecord, lines: Sequence[tuple[int | None, str]]
) -> Iterator[Spent]:
    """A bill names no price for each job: it is shared out evenly, to the cent."""
    total = total_of(record)
    if total is None or not lines:
        return
    shares = _shares(total, len(lines))
    for (item, system), amount in zip(lines, shares, strict=True):
        yield Spent(
            rig=record.rig_id,
            on=record.on,
            system=system,
            amount=amount,
            currency=record.currency,
            item=item,
        )


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
