"""Changing plans: taking items on, completing, deferring."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from maintenance.core.deferral import check_deferral
from maintenance.core.facts import FactError, MeterPoint, Point
from maintenance.core.triggers import parse_triggers
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.vehicles.models import Meter, Rig
from maintenance.vehicles.services import check_places, refuse_future

from .models import BaselineKind, Completion, Deferral, PlanItem
from .procedures import Procedure, load_library, resolve_triggers
from .queries import meter_of
from .standings import reckon_item
from .wording import word


def _renew(rig: Rig, today: date) -> None:
    inputs_changed.send(
        sender=PlanItem, household=rig.household, rig_ids=[rig.pk], as_of=today
    )


@transaction.atomic
def take_on(
    rig: Rig, *, by: Member, today: date, keys: Iterable[str]
) -> list[PlanItem]:
    """Take procedures of the library on; those on the plan already stay as they are."""
    require(by, Role.KEEPER)
    library = load_library()
    meters = {meter.kind: meter.unit for meter in rig.meters.all()}
    made = [_take_on_one(rig, library.procedures[key], meters, today) for key in keys]
    note_activity(by, "took on", f"{rig}: {len(made)} items")
    _renew(rig, today)
    return made


def _take_on_one(
    rig: Rig, procedure: Procedure, meters: Mapping[str, str], today: date
) -> PlanItem:
    item, _made = PlanItem.objects.update_or_create(
        rig=rig,
        key=procedure.key,
        defaults={"dropped_on": None, "why_dropped": ""},
        create_defaults={
            "title": procedure.title,
            "system": procedure.system,
            "triggers": resolve_triggers(procedure, meters),
            "safety": procedure.safety,
            "unfit": procedure.unfit_when_overdue,
            "anchored": procedure.anchored,
            "once": procedure.once,
            "baseline": procedure.baseline,
            "taken_on": today,
        },
    )
    return item


@transaction.atomic
def drop_item(item: PlanItem, *, by: Member, today: date, why: str) -> None:
    """Off the plan; its history stays."""
    require(by, Role.KEEPER)
    if item.safety and not why.strip():
        raise Refused(_("Say why this safety item is dropped."), field="why")
    item.dropped_on, item.why_dropped = today, why
    item.save(update_fields=["dropped_on", "why_dropped"])
    note_activity(by, "dropped item", f"{item.rig}: {item}")
    _renew(item.rig, today)


@transaction.atomic
def change_item(item: PlanItem, *, by: Member, today: date, **fields) -> PlanItem:
    """Change an item's own rules; the triggers are checked as in a case file."""
    require(by, Role.KEEPER)
    if "triggers" in fields:
        try:
            parse_triggers(fields["triggers"], item.key)
        except FactError as error:
            raise Refused(str(error), field="triggers") from None
    for name, value in fields.items():
        setattr(item, name, value)
    item.save(update_fields=list(fields))
    note_activity(by, "changed item", f"{item.rig}: {item}")
    _renew(item.rig, today)
    return item


def state_baseline(
    item: PlanItem,
    *,
    by: Member,
    today: date,
    on: date,
    values: Mapping[str, Decimal] | None = None,
) -> PlanItem:
    """“Done before, on about this day”: counted from, but no record."""
    refuse_future(on, today)
    return change_item(
        item,
        by=by,
        today=today,
        baseline=BaselineKind.STATED,
        baseline_on=on,
        baseline_values={meter: str(value) for meter, value in (values or {}).items()},
    )


def complete(
    item: PlanItem,
    *,
    by: Member,
    on: date,
    until: date | None = None,
    values: Mapping[str, Decimal] | None = None,
    outcome: str = "done",
    places: Iterable[str] | None = None,
) -> Completion:
    """One completion. The caller (a record) holds the transaction and renews."""
    item.deferrals.filter(ended=False).update(ended=True)
    return Completion.objects.create(
        item=item,
        on=on,
        until=until,
        values={meter: str(value) for meter, value in (values or {}).items()},
        outcome=outcome,
        places=check_places(item.rig, places),
        entered_by=by,
    )


def withdraw_completions(completions: Iterable[Completion]) -> None:
    """Of a voided record; the caller renews."""
    ids = [completion.pk for completion in completions]
    Completion.objects.filter(pk__in=ids).update(withdrawn=True)


@transaction.atomic
def defer(
    item: PlanItem,
    *,
    by: Member,
    today: date,
    why: str,
    until: date | None = None,
    until_value: Decimal | None = None,
) -> Deferral:
    """Put off; the standing stays and says until when and why."""
    require(by, Role.CREW)
    meter = meter_of(item) if until is None else None
    _check_deferral(item, by, today, until or _value_point(meter, until_value), why)
    item.deferrals.filter(ended=False).update(ended=True)
    made = Deferral.objects.create(
        item=item,
        until=until,
        until_value=until_value,
        until_meter=meter.kind if meter else "",
        why=why,
        made_by=by,
    )
    note_activity(by, "deferred", f"{item.rig}: {item}")
    return made


def _value_point(meter: Meter | None, value: Decimal | None) -> MeterPoint:
    if meter is None or value is None:
        raise Refused(_("Give a day or a reading."), field="until")
    return MeterPoint(meter.kind, value)


def _check_deferral(
    item: PlanItem, by: Member, today: date, until: Point, why: str
) -> None:
    fact, standing, meters = reckon_item(item, as_of=today)
    problems = check_deferral(
        fact,
        standing,
        meters,
        as_of=today,
        until=until,
        reason=why,
        by_keeper=by.is_keeper,
    )
    if problems:
        raise Refused(
            " ".join(word(problem, today) for problem in problems),
            field="until" if isinstance(until, date) else "until_value",
        )


@transaction.atomic
def end_deferral(item: PlanItem, *, by: Member) -> None:
    require(by, Role.KEEPER if item.safety else Role.CREW)
    item.deferrals.filter(ended=False).update(ended=True)
    note_activity(by, "ended deferral", f"{item.rig}: {item}")
