"""Bringing the rows in: portion by portion, stopped at any time.

Each portion is one transaction, so what is counted as in is in. When a worker dies, the
next one brings in only rows that are not in yet.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import F

from maintenance.core.tables import TableError
from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.jobs.lease import Claim, Stopped
from maintenance.service_records.following import follow_up
from maintenance.service_records.giving import open_past_findings
from maintenance.service_records.models import DoneBy, ServiceRecord
from maintenance.service_records.services import record_many
from maintenance.service_records.torque import Wheels
from maintenance.service_records.work import Costs, WorkDone
from maintenance.vehicles.models import Rig

from .imports.rows import Row
from .imports.verdicts import judge, line_of, told_of_wheels
from .models import ImportedRow, ImportJob, State

PORTION = 500  # records in one transaction: half a second or so


def bring_in(bringing: ImportJob, *, today: date) -> None:
    """Bring in what is not in yet, unless somebody else does or nobody wants it."""
    claim = Claim.take(bringing)
    if claim is None:
        return
    try:
        with claim.at_work():
            _bring(claim, today)
            claim.end(State.DONE)
    finally:
        follow_up(bringing.rig, today=today)


def _bring(claim: Claim[ImportJob], today: date) -> None:
    bringing = claim.job
    by = bringing.begun_by
    if by is None:
        raise Refused("The person who started this is no longer a member.")
    try:
        judged = judge(bringing, today=today)
    except TableError as error:
        raise Refused(str(error)) from error
    rows = judged.to_come(with_doubtful=bringing.with_doubtful)
    try:
        for portion in _portions(list(_grouped(rows))):
            _bring_portion(claim, by, today, portion)
    finally:
        _open_findings(bringing, by)


def _open_findings(bringing: ImportJob, by: Member) -> None:
    """After all rows, since a later one can tell that a fault of an earlier one was put
    right. What a worker that died left out the next one makes up for."""
    records = ServiceRecord.objects.filter(brought_rows__bringing=bringing)
    open_past_findings(bringing.rig, records, by=by)


def _bring_portion(
    claim: Claim[ImportJob], by: Member, today: date, groups: Sequence[Sequence[Row]]
) -> None:
    with transaction.atomic():
        # First, so that a stop waits for this portion or keeps it from beginning.
        if not claim.keep(added=F("added") + sum(len(group) for group in groups)):
            raise Stopped
        rig = claim.job.rig
        off = _with_wheels_off(claim.job, [row for group in groups for row in group])
        works = [_work(rig, group, off) for group in groups]
        records = record_many(rig, works, by=by, today=today)
        ImportedRow.objects.bulk_create(_provenance(claim.job, records, groups))


def _provenance(
    bringing: ImportJob,
    records: Iterable[ServiceRecord],
    groups: Iterable[Sequence[Row]],
) -> Iterator[ImportedRow]:
    for record, group in zip(records, groups, strict=True):
        for row in group:
            yield ImportedRow(
                bringing=bringing,
                rig=bringing.rig,
                record=record,
                number=row.number,
                digest=row.digest,
            )


def _grouped(rows: Iterable[Row]) -> Iterator[list[Row]]:
    """The rows of one invoice together, in the order of their first ones."""
    groups: dict[Any, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.invoice_key, []).append(row)
    yield from groups.values()


def _portions(groups: list[list[Row]]) -> Iterator[list[list[Row]]]:
    for start in range(0, len(groups), PORTION):
        yield groups[start : start + PORTION]


def _work(rig: Rig, group: Sequence[Row], off: Collection[int]) -> WorkDone:
    """One record of the rows of one invoice: their costs together, the notes once."""
    first = group[0]
    if first.on is None:  # a refused row never comes here
        raise Refused(f"Row {first.number} has no day.")
    values = {kind: value for row in group for kind, value in row.values.items()}
    costs: dict[str, Any] = {}
    for row in group:
        for name, value in row.costs.items():
            costs[name] = costs.get(name, 0) + value
    wheels_off = any(row.number in off for row in group)
    notes = dict.fromkeys(row.notes for row in group if row.notes)
    return WorkDone(
        rig=rig,
        on=first.on,
        until=first.until,
        lines=[line_of(row) for row in group],
        wheels=Wheels(off=frozenset(rig.places if wheels_off else ())),
        values=values,
        values_questionable=frozenset().union(*(row.questionable for row in group)),
        doer=first.doer or "Not entered",
        done_by=DoneBy.SHOP if first.doer else DoneBy.MEMBER,
        place=next((row.place for row in group if row.place), ""),
        notes="\n".join(notes),
        costs=Costs(**costs),
    )


def _with_wheels_off(job: ImportJob, rows: Sequence[Row]) -> set[int]:
    """Numbers of the rows that tell of it, where the preview was answered so."""
    if job.wheels_off != "all":
        return set()
    return {row.number for row in told_of_wheels(job.rig, rows)}
