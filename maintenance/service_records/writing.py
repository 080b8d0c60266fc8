"""Writing down what work says: the rows of a record. What it gives is `giving`."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict

from maintenance.households.models import Member
from maintenance.library.reading import load_library
from maintenance.plans.measures import to_data
from maintenance.plans.models import COMPLETING, Outcome

from .models import (
    FoundOrFixed,
    LineFinding,
    PartUsed,
    RecordLine,
    ServiceRecord,
    SupplyUsed,
)
from .torque import Wheels, store_torque
from .work import Line, WorkDone, checks_wheels


def write_records(works: Sequence[WorkDone], *, by: Member) -> list[ServiceRecord]:
    """A record of each work, in the order given, in a fixed number of queries."""
    records = ServiceRecord.objects.bulk_create(_record(work, by) for work in works)
    pairs = list(zip(records, works, strict=True))
    lines = RecordLine.objects.bulk_create(_lines(pairs))
    LineFinding.objects.bulk_create(_fixes(pairs, lines))
    PartUsed.objects.bulk_create(
        PartUsed(record=record, position=number, **asdict(part))
        for record, work in pairs
        for number, part in enumerate(work.parts)
    )
    SupplyUsed.objects.bulk_create(
        SupplyUsed(
            record=record,
            supply=take.supply,
            name=str(take.supply),
            amount=take.amount,
            unit=take.supply.unit,
        )
        for record, work in pairs
        for take in work.supplies
    )
    for record, work in pairs:
        store_torque(record, work.wheels)
    return records


def _record(work: WorkDone, by: Member) -> ServiceRecord:
    warranty = work.warranty
    return ServiceRecord(
        rig=work.rig,
        form_token=work.form_token,
        on=work.on,
        until=work.until,
        place=work.place,
        done_by=work.done_by,
        doer=work.doer,
        values={meter: str(value) for meter, value in work.values.items()},
        values_confirmed=work.values_confirmed,
        wheels_off=[place for place in work.rig.places if place in work.wheels.off],
        currency=work.rig.household.currency,
        **asdict(work.costs),
        warranty_until=warranty.until,
        warranty_meter=warranty.meter if warranty.value is not None else "",
        warranty_value=warranty.value,
        warranty_covers=warranty.covers,
        signed_off_by=work.signed_off_by,
        credential=work.credential,
        notes=work.notes,
        entered_by=by,
    )


def _lines(pairs: Iterable[tuple[ServiceRecord, WorkDone]]) -> Iterator[RecordLine]:
    for record, work in pairs:
        for position, line in enumerate(work.lines):
            row = RecordLine(record=record)
            write_line(row, position, line, work.wheels)
            yield row


def write_line(row: RecordLine, position: int, line: Line, wheels: Wheels) -> None:
    """The columns of one job; the caller saves."""
    row.position, row.item, row.title = position, line.item, line.title
    row.outcome, row.note = outcome_of(line, wheels), line.note
    row.measures = to_data(line.measures)
    row.places = places_of(line, wheels)
    row.steps = [list(step) for step in line.steps]


def places_of(line: Line, wheels: Wheels) -> list[str] | None:
    """Where work that is done wheel by wheel was done: at wheels that were off, else
    where it was measured. None: everywhere."""
    item = line.item
    procedure = load_library().procedures.get(item.key) if item else None
    if item is None or procedure is None or procedure.per != "place":
        return None
    found = wheels.off or {one.place for one in line.measures}
    return [place for place in item.rig.places if place in found] or None


def outcome_of(line: Line, wheels: Wheels) -> str:
    """What the record says of a check of wheels is what its wheels say."""
    item = line.item if wheels.moved and line.outcome in COMPLETING else None
    return Outcome.MOVED if item and checks_wheels(item) else line.outcome


def _fixes(
    pairs: Iterable[tuple[ServiceRecord, WorkDone]], rows: Sequence[RecordLine]
) -> Iterator[LineFinding]:
    said = (line for _record, work in pairs for line in work.lines)
    for row, line in zip(rows, said, strict=True):
        for finding in line.fixes:
            yield LineFinding(line=row, finding=finding, how=FoundOrFixed.FIXED)
