"""Records amended or undone together with the findings they opened or fixed."""

from datetime import date, datetime

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome
from maintenance.service_records.amending import Amended, amend_record, undo_record
from maintenance.service_records.models import RecordLine, ServiceRecord

from .models import Finding, FindingState, WalkRound
from .services import open_findings_of


@transaction.atomic
def amend_with_findings(
    record: ServiceRecord, *, by: Member, today: date, why: str, to: Amended
) -> ServiceRecord:
    """What a line found goes where it finds nothing any more, and comes with a line
    that now does; what a removed line fixed is open again."""
    kept = [row.pk for row, _line in to.lines if row is not None]
    _let_go(record.lines.exclude(pk__in=kept))
    amend_record(record, by=by, today=today, why=why, to=to)
    found = Finding.objects.filter(found_by_line__record=record)
    fault = found.filter(found_by_line__outcome=Outcome.FAULT_FOUND)
    found.exclude(pk__in=fault.values("pk")).update(withdrawn=True)
    fault.update(withdrawn=False)
    open_findings_of(record, by=by)
    return record


@transaction.atomic
def undo_with_findings(
    record: ServiceRecord, *, by: Member, now: datetime, today: date
) -> bool:
    """A fresh record and what it found are gone; what it fixed is open again."""
    if WalkRound.objects.filter(record=record).exists():
        raise Refused(_("It came from a walk-round. Amend or void it instead."))
    _let_go(record.lines.all())
    undo_record(record, by=by, now=now, today=today)
    return True


def _let_go(lines: QuerySet[RecordLine]) -> None:
    Finding.objects.filter(found_by_line__in=lines).update(
        withdrawn=True, found_by_line=None
    )
    Finding.objects.filter(fixed_by_line__in=lines).update(
        state=FindingState.OPEN, fixed_by_line=None
    )
