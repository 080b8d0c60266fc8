"""The work on a rig as a table that can be brought in again, one job a line."""

from collections.abc import Iterator
from decimal import Decimal
from typing import IO, Any

from maintenance.plans.measures import DATE, Measured, from_data, in_words
from maintenance.service_records.models import RecordLine, ServiceRecord
from maintenance.vehicles.models import MeterKind, Rig

from .tables import harmless, writer_on

PORTION = 500
COSTS = ("labor", "parts", "tax", "total")


def write_history(rig: Rig, out: IO[str]) -> int:
    """All work that stands, oldest first; how many lines. Costs stand once a record."""
    units = {meter.kind: meter.unit for meter in rig.meters.all()}
    writer = writer_on(out)
    writer.writerow(_headings(units, rig.household.currency))
    count = 0
    for record in _records(rig):
        for n, line in enumerate(record.lines.all()):
            cells = _cells(record, line, units, first=n == 0)
            writer.writerow([harmless(cell) for cell in cells])
            count += 1
    return count


def _records(rig: Rig) -> Iterator[ServiceRecord]:
    rows = ServiceRecord.objects.filter(rig=rig).standing_records()
    rows = rows.order_by("on", "pk").prefetch_related("lines")
    return rows.iterator(chunk_size=PORTION)


def _headings(units: dict[str, str], currency: str) -> list[str]:
    meters = {
        MeterKind.ODOMETER: "Odometer",
        MeterKind.ENGINE: "Engine hours",
        MeterKind.GENERATOR: "Generator hours",
    }
    return [
        "Record number",
        "Done on",
        "Until",
        "What was done",
        "Outcome",
        *(
            f"{words} ({units[kind]})"
            for kind, words in meters.items()
            if kind in units
        ),
        "Done by",
        "Where",
        *(f"{name.capitalize()} ({currency})" for name in COSTS),
        "Measured",
        "Job note",
        "Notes",
    ]


def _cells(
    record: ServiceRecord, line: RecordLine, units: dict[str, str], *, first: bool
) -> list[Any]:
    kinds = [kind for kind in ("odometer", "engine", "generator") if kind in units]
    values = [Decimal(v) if (v := record.values.get(k)) else "" for k in kinds]
    costs = [getattr(record, name) if first else None for name in COSTS]
    return [
        record.pk,
        record.on.isoformat(),
        record.until.isoformat() if record.until else "",
        line.title,
        line.get_outcome_display(),
        *values,
        record.doer,
        record.place,
        *("" if cost is None else cost for cost in costs),
        "; ".join(in_words(_figures(line))),
        line.note,
        record.notes if first else "",
    ]


def _figures(line: RecordLine) -> list[Measured]:
    """All but the date on a paper, which stands with the paper."""
    return [one for one in from_data(line.measures) if one.unit != DATE]
