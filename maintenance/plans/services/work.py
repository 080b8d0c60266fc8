"""Work on items: completions, and putting an item off."""

from datetime import date
from decimal import Decimal

from django.db import transaction

from maintenance.core.deferral import check_deferral
from maintenance.core.facts import MeterPoint, Point
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.dropped import refuse_dropped
from maintenance.plans.models import Deferral, PlanItem
from maintenance.plans.queries import meter_of, put_off_since
from maintenance.plans.standings import reckon_item
from maintenance.plans.wording.facts import word
from maintenance.vehicles.models import Meter


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
    refuse_dropped([item])
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
        raise Refused("Enter a date or a reading.", field="until")
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
        put_off_since=put_off_since([item]).get(item.pk),
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
    note_activity(by, "ended putting off", f"{item.rig}: {item}")
