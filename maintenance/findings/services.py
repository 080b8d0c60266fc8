"""Findings: opened, judged, planned, put right, accepted, opened again."""

from collections.abc import Iterable
from datetime import date

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.households.workers import ask_to_tell
from maintenance.plans.models import PlanItem
from maintenance.plans.services import take_on_once
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
) -> Finding:
    require(by, Role.CREW)
    if not what.strip():
        raise Refused("Enter what's wrong, like “Torn awning”.", field="what")
    files = clean_photos(uploads)
    found = Finding.objects.create(
        rig=rig,
        what=what.strip(),
        zone=zone,
        severity=severity,
        unfit=unfit,
        found_on=on,
        entered_by=by,
    )
    keep_photos(files, rig, on=on, finding=found)
    note_activity(by, "added to Not right", f"{rig}: {what}")
    ask_to_tell(rig.household_id)
    return found


@transaction.atomic
def judge_finding(
    finding: Finding,
    *,
    by: Member,
    what: str,
    zone: str,
    severity: str,
    unfit: bool,
    why: str = "",
) -> Finding:
    """Judge it anew. That the rig is fit after all a keeper says, with a reason."""
    require(by, Role.CREW)
    _refuse_closed(finding)
    if finding.unfit and not unfit:
        require(by, Role.KEEPER)
        if not why.strip():
            raise Refused("Enter why the rig may travel with it.", field="why")
    finding.what, finding.zone = what, zone
    finding.severity, finding.unfit = severity, unfit
    finding.save(update_fields=["what", "zone", "severity", "unfit"])
    reason = f" ({why.strip()})" if why.strip() else ""
    note_activity(by, "changed how urgent", f"{finding.rig}: {finding}{reason}")
    ask_to_tell(finding.rig.household_id)
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
    finding.state = state_while_open(finding)
    finding.save(update_fields=["for_shop", "state"])
    words = "added to the shop list" if wanted else "removed from the shop list"
    note_activity(by, words, f"{finding.rig}: {finding}")
    return finding


def state_while_open(finding: Finding) -> str:
    """Of one that is not right yet: planned while the plan or the shop sheet has it."""
    on_plan = finding.item is not None and finding.item.dropped_on is None
    return FindingState.PLANNED if on_plan or finding.for_shop else FindingState.OPEN


def _refuse_closed(finding: Finding) -> None:
    if not finding.is_open:
        raise Refused(f"“{finding}” is closed: {finding.get_state_display().lower()}.")


@transaction.atomic
def close_finding(finding: Finding, *, by: Member) -> None:
    """Said to be put right; no work of it is on record."""
    require(by, Role.CREW)
    finding.state = FindingState.FIXED
    finding.save(update_fields=["state"])
    note_activity(by, "marked as fixed", f"{finding.rig}: {finding}")


@transaction.atomic
def accept_finding(finding: Finding, *, by: Member, why: str) -> None:
    """Live with it, and say why; where it makes the rig unfit, a keeper alone."""
    require(by, Role.KEEPER if finding.unfit else Role.CREW)
    if not why.strip():
        raise Refused("Enter why you're leaving it as is.", field="why")
    finding.state, finding.why_accepted = FindingState.ACCEPTED, why
    finding.save(update_fields=["state", "why_accepted"])
    note_activity(by, "left as is", f"{finding.rig}: {finding}")


@transaction.atomic
def reopen_finding(finding: Finding, *, by: Member) -> None:
    """Closed too soon: it is not right after all."""
    require(by, Role.CREW)
    finding.why_accepted, finding.state = "", state_while_open(finding)
    finding.save(update_fields=["why_accepted", "state"])
    finding.line_links.filter(how="fixed").delete()
    note_activity(by, "reopened under Not right", f"{finding.rig}: {finding}")
    ask_to_tell(finding.rig.household_id)
