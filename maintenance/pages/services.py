"""Changes that reach across apps: each is one transaction of theirs."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db import transaction

from maintenance.households.models import Member
from maintenance.reminders.services import tell_at_once
from maintenance.service_records.models import ServiceRecord, Snap
from maintenance.service_records.services import log_service
from maintenance.service_records.snaps import file_snaps
from maintenance.vehicles.models import Event, Rig
from maintenance.vehicles.services import report_event
from maintenance.walkrounds.services import (
    ask_about_torque,
    fix_findings_of,
    merge_with_findings,
    open_findings_of,
)


@transaction.atomic
def record_work(
    rig: Rig,
    *,
    by: Member,
    today: date,
    snaps: Sequence[Snap] = (),
    same_as: ServiceRecord | None = None,
    **work: Any,
) -> ServiceRecord:
    """Log work, close the findings that became its items, open those it names, and
    tell at once what safety asks for. `same_as` is a record of the same work."""
    record = log_service(rig, by=by, today=today, **work)
    file_snaps(record, by=by, snaps=snaps)
    fix_findings_of(record)
    open_findings_of(record, by=by)
    ask_about_torque(record, by=by)
    if same_as is not None:
        merge_with_findings(record, into=same_as, by=by, today=today)
    tell_at_once(rig.household, today=today)
    return record


@transaction.atomic
def tell_event(rig: Rig, *, by: Member, today: date, **event: Any) -> Event:
    """Report an event, and tell at once what safety asks for."""
    made = report_event(rig, by=by, today=today, **event)
    tell_at_once(rig.household, today=today)
    return made
