"""A warranty reminds of its end by an item on the plan that belongs to its record."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Q

from maintenance.households.models import Household
from maintenance.plans.models import (
    WARRANTY_KEY,
    BaselineKind,
    PlanItem,
    RulesFrom,
    StandingName,
)
from maintenance.plans.papers import PAPERS, life_until
from maintenance.plans.receivers import renew_rigs

from .journal import Journal
from .models import ServiceRecord

HAS_ENDED = "the warranty has ended"


def give_warranty(record: ServiceRecord, *, today: date, journal: Journal) -> None:
    """Put the item on the plan, or bring it back, while the warranty of a record that
    counts lasts. The caller renews."""
    if not _lasts(record, today):
        return
    columns = {
        "title": _title(record),
        "system": PAPERS,
        "triggers": _rules(record, today),
        "rules_from": RulesFrom.OWN,
        "once": True,
        "baseline": BaselineKind.STATED,
        "baseline_on": record.on,
        "baseline_values": _base(record),
        "taken_on": record.on,
        "dropped_on": None,
        "why_dropped": "",
    }
    item, _new = PlanItem.objects.update_or_create(
        rig=record.rig, key=f"{WARRANTY_KEY}{record.pk}", defaults=columns
    )
    ServiceRecord.objects.filter(pk=record.pk).update(warranty_item=item)
    journal.made(record, item)


def drop_ended_warranties(household: Household, *, today: date) -> int:
    """Warranties whose end has passed leave the plan; says how many. One that left by a
    clock that was ahead comes back."""
    over = Q(dropped_on__isnull=True, standing__standing=StandingName.OVERDUE)
    early = Q(dropped_on__gt=today, why_dropped=HAS_ENDED)
    rows = PlanItem.objects.for_household(household).filter(
        over | early, warranty_of__isnull=False
    )
    found = list(rows)
    ended = [item.pk for item in found if item.dropped_on is None]
    back = [item.pk for item in found if item.dropped_on is not None]
    _set_dropped(ended, today, HAS_ENDED)
    _set_dropped(back, None, "")
    if found:
        rigs = sorted({item.rig_id for item in found})
        renew_rigs(household, rigs, as_of=today)
    return len(ended)


def _set_dropped(items: list[int], on: date | None, why: str) -> None:
    if items:
        PlanItem.objects.filter(pk__in=items).update(dropped_on=on, why_dropped=why)


def _lasts(record: ServiceRecord, today: date) -> bool:
    until = record.warranty_until
    named = until is not None or record.warranty_value is not None
    past = until is not None and until < today
    counts = record.voided_at is None and record.merged_into_id is None
    return named and counts and not past


def _title(record: ServiceRecord) -> str:
    first = record.lines.first()
    what = record.warranty_covers or (first.title if first else str(record.on))
    return (f"Warranty ends: {what}")[:120]


def _base(record: ServiceRecord) -> dict[str, str]:
    """A distance needs a value to count from; without a reading, the meter's zero."""
    if record.warranty_value is None:
        return {}
    return {record.warranty_meter: record.values.get(record.warranty_meter, "0")}


def _rules(record: ServiceRecord, today: date) -> list[dict[str, Any]]:
    rules: list[dict[str, Any]] = []
    if record.warranty_until is not None:
        months, start = life_until(record.warranty_until, 1, today, "warranty_until")
        rules.append({"life": {"months": months, "from": start.isoformat()}})
    if record.warranty_value is not None:
        meter = record.rig.meters.get(kind=record.warranty_meter)
        span = record.warranty_value - Decimal(_base(record)[meter.kind])
        kind = "hours" if meter.unit == "h" else "distance"
        every: dict[str, Any] = {kind: _number(span), "meter": meter.kind}
        if kind == "distance":
            every["unit"] = meter.unit
        rules.append({"every": every})
    return rules


def _number(value: Decimal) -> int | float:
    return int(value) if value == int(value) else float(value)
