"""The same work, logged twice: found before it is saved, made one, taken apart."""

from collections.abc import Collection, Mapping
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Meter, Rig

from .chain.linking import changing
from .following import follow_up, standings_before
from .giving import give
from .journal import take_back
from .models import LinkKind, Merge, ServiceRecord

DAYS_APART = 3
NEAR = {"mi": Decimal(50), "km": Decimal(80), "h": Decimal(5)}


def same_work(
    rig: Rig,
    *,
    on: date,
    items: Collection[PlanItem],
    until: date | None = None,
    values: Mapping[str, Decimal] | None = None,
) -> list[ServiceRecord]:
    """Records that may be of the same work: a job in common, a few days and miles
    apart. Without readings to compare, the days decide."""
    if not items:
        return []
    days = timedelta(days=DAYS_APART)
    last = (until or on) + days
    rows = ServiceRecord.objects.standing_records().filter(
        Q(until__isnull=True, on__gte=on - days) | Q(until__gte=on - days),
        rig=rig,
        on__lte=last,
        lines__item__in=items,
    )
    meters = {meter.kind: meter for meter in rig.meters.all()}
    found = rows.select_related("rig", "entered_by").prefetch_related("lines")
    return [row for row in found.distinct() if _near(row, values or {}, meters)]


def _near(
    row: ServiceRecord, values: Mapping[str, Decimal], meters: Mapping[str, Meter]
) -> bool:
    return all(
        abs(Decimal(row.values[kind]) - value) <= NEAR[meters[kind].unit]
        for kind, value in values.items()
        if kind in row.values and kind in meters
    )


@transaction.atomic
def merge_records(
    record: ServiceRecord, *, into: ServiceRecord, by: Member, today: date
) -> Merge:
    """Make `record` a part of `into`: it is shown there with all its lines and proof,
    and what both of them did counts once.

    Nothing of either is moved or rewritten, so that both stay as they were entered.
    """
    require(by, Role.CREW)
    _check_merge(record, into)
    why = f"the same work as record {into.pk}"
    before = standings_before(record.rig)
    with changing(record, by=by, why=why, kind=LinkKind.MERGED):
        changed = ServiceRecord.objects.filter(pk=record.pk, merged_into=None)
        if not changed.update(merged_into=into):
            raise Refused("This record is already merged into another one.")
        kept = take_back([record], today=today)
        give([record], by=by, today=today, again=True)
    merge = Merge.objects.create(record=record, into=into, made_by=by)
    note_activity(by, "merged duplicate", str(into))
    record.refresh_from_db(fields=["merged_into"])
    follow_up(record.rig, today=today, before=before, records=[record], kept=kept)
    return merge


def _check_merge(record: ServiceRecord, into: ServiceRecord) -> None:
    if record.pk == into.pk or record.rig_id != into.rig_id:
        raise Refused("You can only merge two records of the same rig.")
    if record.voided_at or into.voided_at:
        raise Refused("A void record can't be merged. Choose another record.")
    if into.merged_into_id is not None or record.merged.exists():
        raise Refused("This record is merged with another. Separate them first.")


@transaction.atomic
def take_apart(merge: Merge, *, by: Member, today: date) -> None:
    """Two records again, just as they were before they were made one."""
    require(by, Role.CREW)
    rows = Merge.objects.filter(pk=merge.pk, undone_at__isnull=True)
    if not rows.update(undone_at=timezone.now(), undone_by=by):
        raise Refused("These records are already separate.")
    record = merge.record
    with changing(record, by=by, why="two separate jobs", kind=LinkKind.MERGED):
        ServiceRecord.objects.filter(pk=record.pk).update(merged_into=None)
        take_back([record], today=today)
        give([record], by=by, today=today, again=True)
    note_activity(by, "separated records", str(merge.into))
    record.refresh_from_db(fields=["merged_into"])
    follow_up(record.rig, today=today)
