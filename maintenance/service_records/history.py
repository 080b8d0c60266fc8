"""Work of the past, many records at once: by the rules of `log_service`, in a fixed
number of queries."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from maintenance.households.access import require
from maintenance.households.models import Household, Member, Role
from maintenance.plans.models import COMPLETING, Completion, Deferral, Outcome, PlanItem
from maintenance.plans.queries import procedures_of
from maintenance.plans.services import withdraw_completions
from maintenance.vehicles.models import Event, Reading, Rig
from maintenance.vehicles.services import refuse_future, withdraw

from .chain.linking import voiding_all
from .models import RecordLine, ServiceRecord
from .services import (
    Line,
    Wheels,
    also_renewed,
    check_work,
    raised_kinds,
    void_record,
)

PORTION = 1000  # records at once


@dataclass(frozen=True)
class Past:
    """Work of one day or span as it was written down at the time. `values` are readings
    by meter, in the meter's own unit; `fields` are plain columns of the record."""

    on: date
    lines: Sequence[Line]
    until: date | None = None
    values: Mapping[str, Decimal] = field(default_factory=dict)
    fields: Mapping[str, Any] = field(default_factory=dict)

    @property
    def raw_values(self) -> dict[str, str]:
        return {meter: str(value) for meter, value in self.values.items()}


@transaction.atomic
def log_history(
    rig: Rig, *, by: Member, today: date, works: Sequence[Past]
) -> list[ServiceRecord]:
    """Log many past works on one rig, in the order given.

    As `log_service` does: readings are stored, plan items completed, events raised.
    Nothing is known of wheels, supplies, measured values or work sheets. The standings
    are not renewed here: the caller does so once, at the end of all. Until then the
    household counts as not reckoned, so that whoever looks at a page renews them.
    """
    require(by, Role.CREW)
    for work in works:
        refuse_future(work.until or work.on, today, "until" if work.until else "on")
        check_work(rig, work.on, work.until, work.lines, Wheels())
    records = ServiceRecord.objects.bulk_create(_record(rig, by, one) for one in works)
    pairs = list(zip(records, works, strict=True))
    _store_readings(rig, by, pairs)
    _store_lines(by, pairs)
    _raise_events(rig, by, pairs)
    Household.objects.filter(pk=rig.household_id).update(reckoned_on=None)
    return records


Pairs = Sequence[tuple[ServiceRecord, Past]]


def _record(rig: Rig, by: Member, work: Past) -> ServiceRecord:
    return ServiceRecord(
        rig=rig,
        form_token=uuid.uuid4(),
        on=work.on,
        until=work.until,
        values=work.raw_values,
        currency=rig.household.currency,
        entered_by=by,
        **work.fields,
    )


def _store_readings(rig: Rig, by: Member, pairs: Pairs) -> None:
    """A figure of a span belongs to none of its days and is no reading."""
    meters = {meter.kind: meter for meter in rig.meters.all()}
    found = [
        (record, Reading(meter=meters[kind], on=work.on, value=value, entered_by=by))
        for record, work in pairs
        if work.until is None
        for kind, value in work.values.items()
    ]
    Reading.objects.bulk_create(reading for _record, reading in found)
    through = ServiceRecord.readings.through
    through.objects.bulk_create(
        through(servicerecord=record, reading=reading) for record, reading in found
    )


def _store_lines(by: Member, pairs: Pairs) -> None:
    lines = RecordLine.objects.bulk_create(
        RecordLine(
            record=record,
            position=position,
            item=line.item,
            title=line.title,
            outcome=line.outcome,
            note=line.note,
        )
        for record, work in pairs
        for position, line in enumerate(work.lines)
    )
    renewed = cache(lambda item: list(also_renewed(item)))
    found = [
        (line, _completion(line, item, by))
        for line in lines
        if line.item is not None and line.outcome in COMPLETING
        for item in _completed(line.item, line.outcome, renewed)
    ]
    _end_deferrals([one for _line, one in found])
    Completion.objects.bulk_create(one for _line, one in found)
    through = RecordLine.completions.through
    through.objects.bulk_create(
        through(recordline=line, completion=one) for line, one in found
    )


def _completed(item: PlanItem, outcome: str, renewed: Any) -> list[PlanItem]:
    # Looking renews nothing but the look.
    return [item, *([] if outcome == Outcome.SERVICEABLE else renewed(item))]


def _completion(line: RecordLine, item: PlanItem, by: Member) -> Completion:
    return Completion(
        item=item,
        on=line.record.on,
        until=line.record.until,
        values=line.record.values,
        outcome=line.outcome,
        entered_by=by,
    )


def _end_deferrals(completions: Sequence[Completion]) -> None:
    """What was done since an item was put off ends that; what was before does not."""
    latest: dict[int, date] = {}
    for one in completions:
        latest[one.item_id] = max(one.until or one.on, latest.get(one.item_id, one.on))
    rows = Deferral.objects.filter(item__in=latest, ended=False)
    over = [row.pk for row in rows if row.made_at.date() <= latest[row.item_id]]
    Deferral.objects.filter(pk__in=over).update(ended=True)


def _raise_events(rig: Rig, by: Member, pairs: Pairs) -> None:
    known = procedures_of(rig.household)
    found = [
        (record, Event(rig=rig, kind=kind, on=work.on, values=work.raw_values,
                       note=note[:200], entered_by=by))
        for record, work in pairs
        for kind, note in raised_kinds(work.lines, known).items()
    ]  # fmt: skip
    Event.objects.bulk_create(event for _record, event in found)
    through = ServiceRecord.events.through
    through.objects.bulk_create(
        through(servicerecord=record, event=event) for record, event in found
    )


@transaction.atomic
def void_history(
    records: QuerySet[ServiceRecord], *, by: Member, today: date, why: str
) -> int:
    """Void many records of one rig; how many were not void before.

    As `void_record` does, but for the standings, which the caller renews. Those that
    were amended to more than `log_history` gives go through `void_record` itself.
    """
    require(by, Role.CREW)
    standing = records.filter(voided_at__isnull=True)
    more = standing.filter(
        Q(supplies__isnull=False)
        | Q(merged__isnull=False)
        | Q(merged_into__isnull=False)
        | Q(warranty_item__isnull=False)
        | Q(pk__in=RecordLine.objects.exclude(measures=[]).values("record"))
    )
    by_hand = list(ServiceRecord.objects.filter(pk__in=more.values("pk")))
    done = {record.pk for record in by_hand}
    ids = [pk for pk in standing.values_list("pk", flat=True) if pk not in done]
    for record in by_hand:
        void_record(record, by=by, today=today, why=why)
    for start in range(0, len(ids), PORTION):
        _void_portion(ids[start : start + PORTION], by, why)
    return len(ids) + len(by_hand)


def _void_portion(ids: list[int], by: Member, why: str) -> None:
    rig = Rig.objects.get(records=ids[0])
    with voiding_all(rig, ids, by=by, why=why) as records:
        ServiceRecord.objects.filter(pk__in=[row.pk for row in records]).update(
            voided_at=timezone.now(), voided_by=by, why_voided=why.strip()
        )
        withdraw(
            readings=Reading.objects.filter(records__in=ids),
            events=Event.objects.filter(records__in=ids),
        )
        withdraw_completions(Completion.objects.filter(record_lines__record__in=ids))
