"""A job that is done once and stands in no library: something that was found."""

from datetime import date
from typing import Any

from django.db import transaction

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import BaselineKind, PlanItem, RulesFrom
from maintenance.vehicles.models import Rig

from .items import renew


@transaction.atomic
def take_on_once(
    rig: Rig,
    *,
    by: Member,
    today: date,
    key: str,
    title: str,
    system: str,
    due_on: date,
    unfit: bool = False,
) -> PlanItem:
    """An item to be done once, at the latest on `due_on`, which lies ahead; what was
    taken off the plan under the same key comes back. `unfit`: it is a safety item, and
    overdue it makes the rig unfit to travel."""
    require(by, Role.KEEPER)
    days = (due_on - today).days
    if days < 1:
        raise Refused("Enter a date still to come.", field="due_on")
    columns: dict[str, Any] = {
        "title": title[:120],
        "system": system,
        "triggers": [{"every": {"days": days}}],
        "rules_from": RulesFrom.OWN,
        "once": True,
        "safety": unfit,
        "unfit": unfit,
        "baseline": BaselineKind.STATED,
        "baseline_on": today,
        "baseline_asked_on": today,
        "taken_on": today,
        "dropped_on": None,
        "why_dropped": "",
    }
    item, _made = PlanItem.objects.update_or_create(rig=rig, key=key, defaults=columns)
    note_activity(by, "added to the plan", f"{rig}: {title}")
    renew(rig, today)
    return item
