"""Findings: opened, planned, fixed, accepted; and records together with what they
find."""

import uuid
from collections.abc import Iterable
from datetime import date

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import COMPLETING, Outcome, PlanItem
from maintenance.plans.services import take_on_once
from maintenance.service_records.models import Merge, RecordLine, ServiceRecord
from maintenance.service_records.same_work import merge_records, take_apart
from maintenance.service_records.services import void_record
from maintenance.service_records.torque import differing_figures
from maintenance.vehicles.models import Rig

from .models import Finding, FindingState, Severity
from .photos import clean_photos, keep_photos
from .zones import system_of


@transaction.atomic
def open_finding(
    rig: Rig,
    *,
    by: Member,
    on: date,
    what: str,
    unfit: bool = False,
    zone: str = "",
    severity: str = Severity.SOON,
    uploads: Iterable[UploadedFile] = (),
    token: uuid.UUID | None = None,
) -> Finding:
    """Open one. The same `token` a second time gives the first."""
    require(by, Role.CREW)
    Rig.objects.select_for_update().get(pk=rig.pk)
    known = token and Finding.objects.filter(token=token, rig=rig).first()
    if known:
        return known
    if not what.strip():
        raise Refused(_("Say what is not right."), field="what")
    files = clean_photos(uploads)
    found = Finding.objects.create(
        rig=rig,
        token=token,
        what=what.strip(),
        zone=zone,
        severity=severity,
        unfit=unfit,
        found_on=on,
        entered_by=by,
    )
    keep_photos(files, rig, on=on, finding=found)
    note_activity(by, "opened finding", f"{rig}: {what}")
    return found


@transaction.atomic
def judge_finding(
    finding: Finding, *, by: Member, what: str, zone: str, severity: str, unfit: bool
) -> Finding:
    """Judge it anew. That the rig is fit after all is a keeper's word."""
    require(by, Role.CREW)
    _refuse_closed(finding)
    if finding.unfit and not unfit:
        require(by, Role.KEEPER)
    finding.what, finding.zone = what, zone
    finding.severity, finding.unfit = severity, unfit
    finding.save(update_fields=["what", "zone", "severity", "unfit"])
    note_activity(by, "judged finding", f"{finding.rig}: {finding}")
    return finding


# --- what becomes of it ---------------------------------------------------------------


@transaction.atomic
def plan_finding(
    finding: Finding, *, by: Member, today: date, title: str, due_on: date
) -> PlanItem:
    """An item of the plan, to be done once. Recording its work fixes the finding."""
    _refuse_closed(finding)
    item = take_on_once(
        finding.rig,
        by=by,
        today=today,
        key=f"finding_{finding.pk}",
        title=title,
        system=system_of(finding.zone),
        due_on=due_on,
        unfit=finding.unfit,
    )
    finding.state, finding.item, finding.due_on = FindingState.PLANNED, item, due_on
    finding.save(update_fields=["state", "item", "due_on"])
    return item


@transaction.atomic
def set_for_shop(finding: Finding, *, by: Member, wanted: bool) -> Finding:
    """A line on the sheet for the shop, or off it again."""
    require(by, Role.CREW)
    _refuse_closed(finding)
    finding.for_shop = wanted
    finding.state = _state_while_open(finding)
    finding.save(update_fields=["for_shop", "state"])
    words = "put on the shop sheet" if wanted else "took off the shop sheet"
    note_activity(by, words, f"{finding.rig}: {finding}")
    return finding


def _state_while_open(finding: Finding) -> str:
    on_plan = finding.item is not None and finding.item.dropped_on is None
    return FindingState.PLANNED if on_plan or finding.for_shop else FindingState.OPEN


def _refuse_closed(finding: Finding) -> None:
    if not finding.is_open:
        raise Refused(
            _("“%(finding)s” is closed: %(state)s.")
            % {"finding": finding, "state": finding.get_state_display().lower()}
        )


@transaction.atomic
def fix_finding(finding: Finding, *, by: Member, line: RecordLine | None) -> None:
    """Put right, by a record line where there is one."""
    require(by, Role.CREW)
    finding.state, finding.fixed_by_line = FindingState.FIXED, line
    finding.save(update_fields=["state", "fixed_by_line"])
    note_activity(by, "fixed finding", f"{finding.rig}: {finding}")


@transaction.atomic
def accept_finding(finding: Finding, *, by: Member, why: str) -> None:
    """Live with it, and say why; where it makes the rig unfit, a keeper alone."""
    require(by, Role.KEEPER if finding.unfit else Role.CREW)
    if not why.strip():
        raise Refused(_("Say why you accept it."), field="why")
    finding.state, finding.why_accepted = FindingState.ACCEPTED, why
    finding.save(update_fields=["state", "why_accepted"])
    note_activity(by, "accepted finding", f"{finding.rig}: {finding}")


@transaction.atomic
def reopen_finding(finding: Finding, *, by: Member) -> None:
    """Closed too soon: it is not right after all."""
    require(by, Role.CREW)
    finding.fixed_by_line, finding.why_accepted = None, ""
    finding.state = _state_while_open(finding)
    finding.save(update_fields=["fixed_by_line", "why_accepted", "state"])
    note_activity(by, "reopened finding", f"{finding.rig}: {finding}")


# --- records and what they find -------------------------------------------------------


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


def fix_findings_of(record: ServiceRecord) -> int:
    """Work on the item that a finding became fixes it; how many it fixed."""
    lines = record.lines.filter(outcome__in=COMPLETING, item__findings__isnull=False)
    return sum(
        Finding.objects.not_right_yet()
        .filter(item=line.item)
        .update(state=FindingState.FIXED, fixed_by_line=line)
        for line in lines.distinct()
    )


def ask_about_torque(record: ServiceRecord, *, by: Member) -> Finding | None:
    """Where invoice and maker's book differ in the torque, the rig is not driven on it
    until the shop was asked; a second call opens none."""
    words = differing_figures(getattr(record, "torque", None))
    line = record.lines.filter(finding__isnull=True).first()
    found = Finding.objects.filter(found_by_line__record=record, what=words)
    if not words or line is None or found.exists():
        return None
    return Finding.objects.create(
        rig=record.rig,
        what=words,
        unfit=True,
        found_on=record.on,
        found_by_line=line,
        entered_by=by,
    )


@transaction.atomic
def void_with_findings(
    record: ServiceRecord, *, by: Member, today: date, why: str
) -> None:
    """Void a record; the findings it opened go with it, those it fixed open again."""
    void_record(record, by=by, today=today, why=why)
    Finding.objects.filter(found_by_line__record=record).update(withdrawn=True)
    fixed = Finding.objects.filter(fixed_by_line__record=record)
    planned = Q(for_shop=True) | Q(item__isnull=False, item__dropped_on__isnull=True)
    again = {"fixed_by_line": None}
    plans = list(fixed.filter(planned).values_list("pk", flat=True))
    fixed.exclude(pk__in=plans).update(state=FindingState.OPEN, **again)
    Finding.objects.filter(pk__in=plans).update(state=FindingState.PLANNED, **again)


@transaction.atomic
def merge_with_findings(
    record: ServiceRecord, *, into: ServiceRecord, by: Member, today: date
) -> Merge:
    """Make two records one; what both found counts once."""
    merge = merge_records(record, into=into, by=by, today=today)
    theirs = Finding.objects.filter(found_by_line__record=into, withdrawn=False)
    items = theirs.values_list("found_by_line__item", flat=True)
    twice = Finding.objects.filter(
        found_by_line__record=record, withdrawn=False, found_by_line__item__in=items
    )
    merge.withdrew["findings"] = list(twice.values_list("pk", flat=True))
    twice.update(withdrawn=True)
    merge.save(update_fields=["withdrew"])
    return merge


@transaction.atomic
def take_apart_with_findings(merge: Merge, *, by: Member, today: date) -> None:
    """Two records again, each with what it found."""
    take_apart(merge, by=by, today=today)
    rows = Finding.objects.filter(pk__in=merge.withdrew.get("findings", []))
    rows.update(withdrawn=False)
