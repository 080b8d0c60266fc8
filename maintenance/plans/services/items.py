"""Which items are on a plan, and by which rules they count."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.db import transaction

from maintenance.core.facts import FactError
from maintenance.core.triggers import parse_triggers
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.plans.component_rules import apply_part
from maintenance.plans.dropped import refuse_dropped
from maintenance.plans.models import PlanItem, RulesFrom
from maintenance.plans.queries import procedure_of, procedures_of
from maintenance.plans.receivers import renew_rigs
from maintenance.plans.rule_data import canonical, rules_on
from maintenance.vehicles.models import Event, Rig


def renew(rig: Rig, today: date) -> None:
    renew_rigs(rig.household, [rig.pk], as_of=today)


def meters_of(rig: Rig) -> dict[str, str]:
    """Kind -> unit."""
    return {meter.kind: meter.unit for meter in rig.meters.all()}


# --- taken on, left out, dropped ------------------------------------------------------


@transaction.atomic
def take_on(
    rig: Rig, *, by: Member, today: date, keys: Iterable[str]
) -> list[PlanItem]:
    """Take procedures on; those on the plan already stay as they are."""
    require(by, Role.KEEPER)
    known, meters = procedures_of(rig.household), meters_of(rig)
    made = [_take_on_one(rig, known[key], meters, today) for key in keys]
    note_activity(by, "added to the plan", f"{rig}: {len(made)} jobs")
    renew(rig, today)
    return made


def _take_on_one(
    rig: Rig, procedure: Procedure, meters: Mapping[str, str], today: date
) -> PlanItem:
    item = PlanItem.objects.filter(rig=rig, key=procedure.key, component=None).first()
    if item is None:
        return PlanItem.objects.create(
            rig=rig, taken_on=today, **columns_of(procedure, meters)
        )
    if item.dropped_on is not None:
        _take_up_again(item, procedure, meters, today)
    return item


def columns_of(procedure: Procedure, meters: Mapping[str, str]) -> dict[str, Any]:
    return {
        "key": procedure.key,
        "title": procedure.title,
        "system": procedure.system,
        "triggers": rules_on(procedure, meters),
        "library_triggers": canonical(procedure.triggers, procedure.key),
        "safety": procedure.safety,
        "unfit": procedure.unfit_when_overdue,
        "anchored": procedure.anchored,
        "once": procedure.once,
        "baseline": procedure.baseline,
    }


def _take_up_again(
    item: PlanItem, procedure: Procedure, meters: Mapping[str, str], today: date
) -> None:
    """What was off the plan answers for nothing of that time: it is taken on today."""
    item.dropped_on, item.why_dropped, item.taken_on = None, "", today
    if item.rules_from == RulesFrom.LIBRARY:
        item.triggers = rules_on(procedure, meters, like=item.triggers)
        item.library_triggers = canonical(procedure.triggers, procedure.key)
    item.save()


@transaction.atomic
def take_on_checks(event: Event, *, by: Member, today: date) -> list[PlanItem]:
    """Take on what must be done before the rig travels after such an event, whoever
    told of it: without a check on the plan nothing would stop the rig."""
    require(by, Role.CREW)
    rig = event.rig
    has = set(PlanItem.objects.active().filter(rig=rig).values_list("key", flat=True))
    missing = [
        one
        for one in load_library().procedures.values()
        if "event" in one.unfit_when
        and one.follows(event.kind)
        and one.suits(rig.kind)
        and one.key not in has
    ]
    if not missing:
        return []
    meters = meters_of(rig)
    made = [_take_on_one(rig, one, meters, event.on) for one in missing]
    note_activity(
        by, "added to the plan", f"{rig}: {', '.join(one.title for one in made)}"
    )
    renew(rig, today)
    return made


@transaction.atomic
def settle_plan(
    rig: Rig,
    *,
    by: Member,
    today: date,
    take: Iterable[str],
    leave: Iterable[str],
    drop: Mapping[PlanItem, str],
    why: str,
) -> bool:
    """The plan as its owner wants it: take procedures on, leave others out (they are
    not proposed as new again), drop items, each with its reason."""
    require(by, Role.KEEPER)
    known, meters = procedures_of(rig.household), meters_of(rig)
    left = [known[key] for key in leave]
    if any(one.safety for one in left) and not why.strip():
        raise Refused("Enter why safety jobs are left out.", field="why")
    taken = [_take_on_one(rig, known[key], meters, today) for key in take]
    for procedure in left:
        _leave_out(rig, procedure, meters, today, why if procedure.safety else "")
    for item, reason in drop.items():
        _drop(item, today, reason)
    note_activity(
        by,
        "saved plan",
        f"{rig}: {len(taken)} added, {len(left)} left out, {len(drop)} removed",
    )
    renew(rig, today)
    return True


def _leave_out(
    rig: Rig, procedure: Procedure, meters: Mapping[str, str], today: date, why: str
) -> None:
    PlanItem.objects.get_or_create(
        rig=rig,
        key=procedure.key,
        component=None,
        defaults={
            **columns_of(procedure, meters),
            "taken_on": today,
            "dropped_on": today,
            "why_dropped": why or "left out of the plan",
        },
    )


def _drop(item: PlanItem, today: date, why: str) -> None:
    item.dropped_on, item.why_dropped = today, why[:200]
    item.save(update_fields=["dropped_on", "why_dropped"])


@transaction.atomic
def drop_item(item: PlanItem, *, by: Member, today: date, why: str) -> None:
    """Off the plan; its history stays."""
    require(by, Role.KEEPER)
    if item.safety and not why.strip():
        raise Refused("Enter why you're removing this safety job.", field="why")
    _drop(item, today, why)
    note_activity(by, "removed job", f"{item.rig}: {item}")
    renew(item.rig, today)


# --- rules ----------------------------------------------------------------------------


def check_rules(rules: list[Any], meters: Mapping[str, str], key: str) -> None:
    """Refused, with the reason, for rules that are malformed or not plausible."""
    try:
        parsed = parse_triggers(rules, key, units=meters)  # type: ignore[arg-type]
        problem = next((text for one in parsed if (text := one.implausible())), None)
    except FactError as error:
        problem = error.problem
    if problem:
        raise Refused(f"{problem[0].upper()}{problem[1:]}.", field="triggers")


@transaction.atomic
def change_item(item: PlanItem, *, by: Member, today: date, **fields: Any) -> PlanItem:
    """Change what an item counts by; rules are checked as in a case file."""
    require(by, Role.KEEPER)
    refuse_dropped([item])
    if "triggers" in fields:
        check_rules(fields["triggers"], meters_of(item.rig), item.key)
    for name, value in fields.items():
        setattr(item, name, value)
    item.save(update_fields=list(fields))
    note_activity(by, "changed job", f"{item.rig}: {item}")
    renew(item.rig, today)
    return item


def change_rules(
    item: PlanItem, *, by: Member, today: date, rules: list[Any]
) -> PlanItem:
    """The owner's own rules instead of the library's."""
    if item.rules_from == RulesFrom.MAKER:
        raise Refused("It counts by the manufacturer's figure: change it there.")
    return change_item(
        item, by=by, today=today, triggers=rules, rules_from=RulesFrom.OWN
    )


def follow_library(item: PlanItem, *, by: Member, today: date) -> PlanItem:
    """Count by the procedure's rules as they are now; a life keeps its date."""
    procedure = procedure_of(item)
    if procedure is None:
        raise Refused("The library no longer has this job.")
    item.triggers = rules_on(procedure, meters_of(item.rig), like=item.triggers)
    item.rules_from = RulesFrom.LIBRARY
    if item.component is not None:
        apply_part(item, item.component)
    return change_item(
        item,
        by=by,
        today=today,
        triggers=item.triggers,
        library_triggers=canonical(procedure.triggers, item.key),
        rules_from=RulesFrom.LIBRARY,
    )


@transaction.atomic
def count_on_new_meter(rig: Rig, *, today: date) -> list[PlanItem]:
    """Items that go by the library count on a meter that the rig did not have when they
    were taken on; those that its owner changed stay as they are."""
    known, meters = procedures_of(rig.household), meters_of(rig)
    changed = []
    for item in PlanItem.objects.active().filter(
        rig=rig, rules_from=RulesFrom.LIBRARY, component=None
    ):
        procedure = known.get(item.key)
        if procedure is None or item.library_triggers != canonical(
            procedure.triggers, item.key
        ):
            continue
        rules = rules_on(procedure, meters, like=item.triggers)
        if rules != item.triggers:
            item.triggers = rules
            item.save(update_fields=["triggers"])
            changed.append(item)
    renew(rig, today)
    return changed


@transaction.atomic
def keep_rules(item: PlanItem, *, by: Member) -> PlanItem:
    """The offer of a changed rule is seen and not wanted; nothing counts anew."""
    require(by, Role.KEEPER)
    procedure = procedure_of(item)
    if procedure is not None:
        item.library_triggers = canonical(procedure.triggers, item.key)
        item.save(update_fields=["library_triggers"])
    note_activity(by, "kept rules", f"{item.rig}: {item}")
    return item
