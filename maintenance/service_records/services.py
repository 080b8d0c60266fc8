"""The one door for work done: recorded, voided, undone. What these say is written, what
it gives is given or taken back, and what follows is returned."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import prefetch_related_objects
from django.utils import timezone

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Rig
from maintenance.work_sheets.models import SheetEntry

from .chain.linking import changing, may_be_undone, voiding_all
from .following import WhatFollows, follow_up, standings_before
from .giving import give
from .journal import Journal, take_back
from .models import Attachment, LinkKind, ServiceRecord
from .trends import mark_trend_faults
from .unfiled_photos import file_snaps
from .work import WorkDone, check_work, judged
from .writing import write_records

PORTION = 1000  # records at once


@dataclass(frozen=True, slots=True)
class Recorded:
    """A record, and what follows from it. `new`: it was not there before."""

    record: ServiceRecord
    follows: WhatFollows
    new: bool = True


@transaction.atomic
def record_work(work: WorkDone, *, by: Member, today: date) -> Recorded:
    """Record work on a rig. The same `form_token` a second time gives the first record.

    Proof that was held under the token becomes the record's, and photos that waited
    are filed with it. The work sheets of its items are cleared.
    """
    require(by, Role.CREW)
    known = recorded_with(work.rig, work.form_token)
    if known is not None:
        return Recorded(known, WhatFollows(), new=False)
    check_work(work, today)
    [work] = judged([work])
    before = standings_before(work.rig)
    [record] = write_records([work], by=by)
    mark_trend_faults([record])
    held = Attachment.objects.filter(
        rig=work.rig, form_token=work.form_token, record=None
    )
    held.update(record=record)
    _clear_what_waited(record, work, by)
    give([record], by=by, today=today, questionable=_questionable([record], [work]))
    titles = ", ".join(line.title for line in work.lines)
    note_activity(by, "logged work", f"{work.rig}: {titles}")
    record.refresh_from_db(fields=["warranty_item"])
    follows = follow_up(work.rig, today=today, before=before, records=[record])
    return Recorded(record, follows)


def _questionable(
    records: Sequence[ServiceRecord], works: Sequence[WorkDone]
) -> dict[int, Collection[str]]:
    """Record id -> the meters whose values are kept but do not count."""
    pairs = zip(records, works, strict=True)
    return {row.pk: work.values_questionable for row, work in pairs}


def recorded_with(rig: Rig, form_token: UUID) -> ServiceRecord | None:
    return ServiceRecord.objects.filter(form_token=form_token, rig=rig).first()


def _clear_what_waited(record: ServiceRecord, work: WorkDone, by: Member) -> None:
    """Ticks on work sheets, and photos to file."""
    journal = Journal()
    items = [line.item for line in work.lines if line.item is not None]
    sheet = list(SheetEntry.objects.filter(item__in=items))
    journal.removed(record, *sheet)
    SheetEntry.objects.filter(pk__in=[row.pk for row in sheet]).delete()
    journal.removed(record, *work.snaps)
    journal.made(record, *file_snaps(record, by=by, snaps=work.snaps))
    journal.write()


@transaction.atomic
def record_many(
    rig: Rig, works: Sequence[WorkDone], *, by: Member, today: date
) -> list[ServiceRecord]:
    """Record many works on one rig, in the order given, in few queries.

    As `record_work` does, but that the caller opens the findings of the past and
    follows up once, at the end of all: a later work can tell that a fault was put
    right. Until then the household counts as not reckoned, so that whoever looks at
    a page renews the standings.
    """
    require(by, Role.CREW)
    prefetch_related_objects([rig], "meters")
    for work in works:
        check_work(work, today)
    records = write_records(judged(works), by=by)
    mark_trend_faults(records)
    questionable = _questionable(records, works)
    give(records, by=by, today=today, findings=False, questionable=questionable)
    Household.objects.filter(pk=rig.household_id).update(reckoned_on=None)
    return records


@transaction.atomic
def void_record(
    record: ServiceRecord, *, by: Member, today: date, why: str
) -> WhatFollows:
    """Void: it stays visible as void, what it gave and raised is withdrawn, and what it
    used is in stock again."""
    require(by, Role.CREW)
    if not why.strip():
        raise Refused(
            "Enter why you're voiding this record, like “wrong rig”.", field="why"
        )
    refuse_merged(record)
    before = standings_before(record.rig)
    with changing(record, by=by, why=why, kind=LinkKind.VOIDED):
        standing = ServiceRecord.objects.filter(pk=record.pk, voided_at__isnull=True)
        if not standing.update(
            voided_at=timezone.now(), voided_by=by, why_voided=why.strip()
        ):
            raise Refused("This record is already void.")
        kept = take_back([record], today=today)
    record.refresh_from_db(fields=["voided_at"])
    note_activity(by, "voided record", f"{record.rig}, {day_words(record.on)}")
    return follow_up(record.rig, today=today, before=before, kept=kept)


def refuse_merged(record: ServiceRecord) -> None:
    if record.merged_into_id is not None or record.merged.exists():
        raise Refused("This record is merged with another. Separate them first.")


@transaction.atomic
def void_many(
    rig: Rig, records: Sequence[ServiceRecord], *, by: Member, today: date, why: str
) -> int:
    """Void many records of one rig; how many were not void before. As `void_record`
    does, but that the caller follows up once."""
    require(by, Role.CREW)
    standing = [row for row in records if row.voided_at is None]
    for record in standing:
        refuse_merged(record)
    for start in range(0, len(standing), PORTION):
        ids = [row.pk for row in standing[start : start + PORTION]]
        with voiding_all(rig, ids, by=by, why=why) as held:
            ServiceRecord.objects.filter(pk__in=ids).update(
                voided_at=timezone.now(), voided_by=by, why_voided=why.strip()
            )
            take_back(held, today=today)
    return len(standing)


@transaction.atomic
def undo_record(
    record: ServiceRecord, *, by: Member, now: datetime, today: date
) -> WhatFollows:
    """Remove a record that was just entered, with all that it gave. Its files are held
    under its form again, photos wait to be filed again."""
    require(by, Role.CREW)
    # Held until commit: the job that links records must not come in between.
    Rig.objects.select_for_update().get(pk=record.rig_id)
    if not may_be_undone(record, now):
        raise Refused(
            "You can undo a record only in its first ten minutes. Correct or void it."
        )
    if record.walkrounds.exists():
        raise Refused(
            "This record came from a walk-around. Correct or void it instead."
        )
    if record.brought_rows.exists():
        raise Refused(
            "This record was imported from a file. Correct or void it instead."
        )
    rig, on = record.rig, record.on
    kept = take_back([record], today=today, erase=True)
    record.attachments.update(record=None)
    record.delete()
    note_activity(by, "undid record", f"{rig}, {day_words(on)}")
    return follow_up(rig, today=today, kept=kept)
