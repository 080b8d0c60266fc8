"""The work sheet: what is ticked and measured before the work is recorded.

It is kept with the item, not with a person or a browser: two people at one rig see the
same sheet. It is cleared when the work is recorded, and seven days after the last
touch.
"""

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Max

from maintenance.households.access import require
from maintenance.households.models import Member, Role
from maintenance.plans.models import PlanItem
from maintenance.work_sheets.models import SheetEntry

KEPT_FOR = timedelta(days=7)


def entries_of(item: PlanItem, now: datetime) -> list[SheetEntry]:
    """Everything on the sheet; nothing once it is too old."""
    rows = list(item.sheet.select_related("kept_by"))
    last = max((row.kept_at for row in rows), default=now)
    return rows if last > now - KEPT_FOR else []


def kept_of(item: PlanItem, now: datetime) -> dict[str, str]:
    return {row.field: row.value for row in entries_of(item, now)}


@transaction.atomic
def keep(item: PlanItem, *, by: Member, now: datetime, field: str, value: str) -> None:
    """One tick or value; an empty one takes it off the sheet."""
    require(by, Role.CREW)
    _begin_anew_if_old(item, now)
    _store(item, by, now, field, value)


@transaction.atomic
def keep_all(
    item: PlanItem,
    *,
    by: Member,
    now: datetime,
    given: Mapping[str, str],
    shown: Collection[str],
    fields: Iterable[str],
) -> None:
    """A whole sheet that was sent. `shown` are the fields that were filled when it was
    shown: only what differs from them is changed, so that what another person entered
    meanwhile stays."""
    require(by, Role.CREW)
    _begin_anew_if_old(item, now)
    there = kept_of(item, now)
    for field in fields:
        value = given.get(field, "")
        emptied = not value and field in shown
        if emptied or (value and value != there.get(field)):
            _store(item, by, now, field, value)


def clear(item: PlanItem) -> None:
    """Its work is recorded; the caller holds the transaction."""
    item.sheet.all().delete()


def _begin_anew_if_old(item: PlanItem, now: datetime) -> None:
    last = item.sheet.aggregate(last=Max("kept_at"))["last"]
    if last is not None and last <= now - KEPT_FOR:
        clear(item)


def _store(item: PlanItem, by: Member, now: datetime, field: str, value: str) -> None:
    if not value:
        SheetEntry.objects.filter(item=item, field=field).delete()
        return
    SheetEntry.objects.update_or_create(
        item=item,
        field=field,
        defaults={"value": value, "kept_at": now, "kept_by": by},
    )


def forget_old_sheets(now: datetime) -> int:
    """Remove what is shown no more: sheets untouched for too long; says how many rows.
    A month later than they vanish, so that nobody is just writing on one."""
    late = now - KEPT_FOR - timedelta(days=30)
    touched = SheetEntry.objects.filter(kept_at__gte=late).values("item")
    rows = SheetEntry.objects.filter(kept_at__lt=late).exclude(item__in=touched)
    return rows.delete()[0]
