"""Changes that reach across apps: each is one transaction of theirs."""

from datetime import date
from typing import Any

from django.db import transaction

from maintenance.households.models import Member
from maintenance.reminders.services import tell_at_once
from maintenance.vehicles.events import correct_event
from maintenance.vehicles.models import Event, Rig
from maintenance.vehicles.services import report_event


@transaction.atomic
def tell_event(rig: Rig, *, by: Member, today: date, **event: Any) -> Event:
    """Report an event, and tell at once what safety asks for."""
    made = report_event(rig, by=by, today=today, **event)
    tell_at_once(rig.household, today=today)
    return made


@transaction.atomic
def correct_told_event(event: Event, *, by: Member, today: date, **told: Any) -> Event:
    """Put an event right, and tell at once what safety asks for from then on."""
    made = correct_event(event, by=by, today=today, **told)
    tell_at_once(event.rig.household, today=today)
    return made
