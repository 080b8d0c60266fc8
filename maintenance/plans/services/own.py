"""Procedures of the household's own: written, taken on, changed."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.db import transaction

from maintenance.core.facts import FactError
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.library import checks
from maintenance.library.model import Procedure
from maintenance.plans.models import OwnProcedure, PlanItem, RulesFrom
from maintenance.plans.own_procedures import as_procedure
from maintenance.plans.rule_data import canonical, rules_on
from maintenance.vehicles.models import Rig

from .items import meters_of, renew, take_on


@transaction.atomic
def write_procedure(rig: Rig, *, by: Member, today: date, **fields: Any) -> PlanItem:
    """A new procedure of the household, taken on by the rig it was written for."""
    require(by, Role.KEEPER)
    own = OwnProcedure(
        household=rig.household, written_on=today, written_by=by, **fields
    )
    _check(own)
    own.save()
    note_activity(by, "wrote job", own.title)
    return take_on(rig, by=by, today=today, keys=[own.key])[0]


@transaction.atomic
def change_procedure(
    own: OwnProcedure, *, by: Member, today: date, **fields: Any
) -> OwnProcedure:
    """Changed in all rigs that have it; rules only where they still follow it."""
    require(by, Role.KEEPER)
    for name, value in fields.items():
        setattr(own, name, value)
    own.written_on, own.written_by = today, by
    _check(own)
    own.save()
    note_activity(by, "changed job", own.title)
    items = PlanItem.objects.for_household(own.household).filter(key=own.key)
    for item in items.select_related("rig__household"):
        _bring_in_line(item, as_procedure(own))
        renew(item.rig, today)
    return own


def _bring_in_line(item: PlanItem, procedure: Procedure) -> None:
    item.title, item.system = procedure.title, procedure.system
    item.safety, item.unfit = procedure.safety, procedure.unfit_when_overdue
    item.anchored, item.once = procedure.anchored, procedure.once
    item.library_triggers = canonical(procedure.triggers, item.key)
    if item.rules_from == RulesFrom.LIBRARY:
        meters = meters_of(item.rig)
        item.triggers = rules_on(procedure, meters, like=item.triggers)
    item.save()


def _check(own: OwnProcedure) -> None:
    """It keeps to what the library keeps to: cautions where work can hurt, plausible
    rules, a word on what makes the rig unfit."""
    others = OwnProcedure.objects.filter(household=own.household, title=own.title)
    if others.exclude(pk=own.pk).exists():
        raise Refused("There's already a job with this title.", field="title")
    if own.who != "owner" and not own.cautions:
        raise Refused(
            "Enter a caution: this work isn't for everyone.",
            field="cautions",
        )
    try:
        checks.check_procedure(as_procedure(own))
        checks.check_triggers([*own.triggers])
    except FactError as error:
        field = error.place.partition("[")[0]
        raise Refused(
            f"{error.problem[0].upper()}{error.problem[1:]}.", field=field
        ) from None


def as_library_rules(rules: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """A rig's rules as a procedure has them: any distance meter is `distance`."""
    return [{name: _own_meter(body) for name, body in rule.items()} for rule in rules]


def _own_meter(body: Any) -> Any:
    if isinstance(body, Mapping) and body.get("meter") in {"odometer", "towed"}:
        return {**body, "meter": "distance"}
    return body
