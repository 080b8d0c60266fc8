"""Findings: opened, fixed, accepted; and records together with what they find."""

from datetime import date

from django.db import transaction
from django.utils.translation import gettext as _

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome
from maintenance.service_records.models import RecordLine, ServiceRecord
from maintenance.service_records.services import void_record
from maintenance.vehicles.models import Rig

from .models import Finding, FindingState


@transaction.atomic
def open_finding(
    rig: Rig, *, by: Member, on: date, what: str, unfit: bool = False
) -> Finding:
    require(by, Role.CREW)
    if not what.strip():
        raise Refused(_("Say what is not right."), field="what")
    note_activity(by, "opened finding", f"{rig}: {what}")
    return Finding.objects.create(
        rig=rig, what=what, unfit=unfit, found_on=on, entered_by=by
    )


def open_findings_of(record: ServiceRecord, *, by: Member) -> list[Finding]:
    """A line whose outcome is a fault opens a finding; a second call opens none."""
    lines = record.lines.filter(outcome=Outcome.FAULT_FOUND, finding__isnull=True)
    return [
        Finding.objects.create(
            rig=record.rig,
            what=f"{line.title}: {line.note}" if line.note else line.title,
            unfit=bool(line.item and line.item.unfit),
            found_on=record.on,
            found_by_line=line,
            entered_by=by,
        )
        for line in lines.select_related("item")
    ]


@transaction.atomic
def fix_finding(finding: Finding, *, by: Member, line: RecordLine | None) -> None:
    """Put right, by a record line where there is one."""
    require(by, Role.CREW)
    finding.state, finding.fixed_by_line = FindingState.FIXED, line
    finding.save(update_fields=["state", "fixed_by_line"])
    note_activity(by, "fixed finding", f"{finding.rig}: {finding}")


@transaction.atomic
def accept_finding(finding: Finding, *, by: Member, why: str) -> None:
    """A keeper lives with it, and says why."""
    require(by, Role.KEEPER)
    if finding.unfit:
        raise Refused(_("What makes the rig unfit to travel must be put right."))
    if not why.strip():
        raise Refused(_("Say why you accept it."), field="why")
    finding.state, finding.why_accepted = FindingState.ACCEPTED, why
    finding.save(update_fields=["state", "why_accepted"])
    note_activity(by, "accepted finding", f"{finding.rig}: {finding}")


@transaction.atomic
def void_with_findings(
    record: ServiceRecord, *, by: Member, today: date, why: str
) -> None:
    """Void a record; the findings it opened go with it, those it fixed open again."""
    void_record(record, by=by, today=today, why=why)
    Finding.objects.filter(found_by_line__record=record).update(withdrawn=True)
    Finding.objects.filter(fixed_by_line__record=record).update(
        state=FindingState.OPEN, fixed_by_line=None
    )
