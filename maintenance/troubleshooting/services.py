"""What came of a guide: told once, said again the next time. No statistics."""

from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from maintenance.core.trouble import Ending
from maintenance.findings.models import Finding
from maintenance.findings.services import open_finding
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.troubleshooting.models import TroubleOutcome
from maintenance.vehicles.models import Rig


def outcomes_of(rig: Rig, guide: str) -> QuerySet[TroubleOutcome]:
    """Newest first."""
    return TroubleOutcome.objects.filter(rig=rig, guide=guide)


@transaction.atomic
def tell_outcome(
    rig: Rig,
    *,
    by: Member,
    today: date,
    guide: str,
    ending: Ending,
    path: str,
    was_it: bool,
) -> TroubleOutcome:
    """Whether this was it. Told again on one day, the later word holds."""
    require(by, Role.CREW)
    told, _new = TroubleOutcome.objects.update_or_create(
        rig=rig,
        guide=guide,
        cause=ending.key,
        on=today,
        defaults={"was_it": was_it, "path": path, "told_by": by},
    )
    note_activity(by, "entered what it was", f"{rig}: {ending.cause}"[:200])
    return told


def note_as_finding(rig: Rig, *, by: Member, today: date, ending: Ending) -> Finding:
    return open_finding(rig, by=by, on=today, what=ending.cause, unfit=ending.unfit)
