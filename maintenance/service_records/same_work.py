"""The same work, logged twice: found before it is saved, made one, taken apart."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.models import Completion, PlanItem
from maintenance.supplies.stock import put_in, take_out
from maintenance.vehicles.models import Event, Meter, Rig

from .chain.linking import changing
from .models import LinkKind, Merge, ServiceRecord, SupplyUsed
from .warranty import renew_warranty

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
    why = _("the same work as record %(n)d") % {"n": into.pk}
    with changing(record, by=by, why=why, kind=LinkKind.MERGED):
        withdrew = _make_part(record, into)
    merge = Merge.objects.create(
        record=record, into=into, withdrew=withdrew, made_by=by
    )
    note_activity(by, "made one of two records", str(into))
    _after(record, today)
    return merge


def _make_part(record: ServiceRecord, into: ServiceRecord) -> dict[str, list[int]]:
    changed = ServiceRecord.objects.filter(pk=record.pk, merged_into=None)
    if not changed.update(merged_into=into):
        raise Refused(_("It is part of another record already."))
    return {
        "completions": _withdraw_completions(record, into),
        "events": _withdraw_events(record, into),
        "supplies": _put_back(record, into),
    }


def _check_merge(record: ServiceRecord, into: ServiceRecord) -> None:
    if record.pk == into.pk or record.rig_id != into.rig_id:
        raise Refused(_("Only two records of the same rig can be one."))
    if record.voided_at or into.voided_at:
        raise Refused(_("A void record is no part of another."))
    if into.merged_into_id is not None or record.merged.exists():
        raise Refused(_("It is one with another record: take them apart first."))


@transaction.atomic
def take_apart(merge: Merge, *, by: Member, today: date) -> None:
    """Two records again, just as they were before they were made one."""
    require(by, Role.CREW)
    rows = Merge.objects.filter(pk=merge.pk, undone_at__isnull=True)
    if not rows.update(undone_at=timezone.now(), undone_by=by):
        raise Refused(_("They are apart already."))
    record = merge.record
    with changing(record, by=by, why=_("two after all"), kind=LinkKind.MERGED):
        ServiceRecord.objects.filter(pk=record.pk).update(merged_into=None)
        completions = Completion.objects.filter(pk__in=merge.withdrew["completions"])
        completions.update(withdrawn=False)
        Event.objects.filter(pk__in=merge.withdrew["events"]).update(withdrawn=False)
    used = SupplyUsed.objects.filter(pk__in=merge.withdrew["supplies"])
    for one in used.select_related("supply"):
        if one.supply is not None:
            take_out(one.supply, one.amount, field="")
    note_activity(by, "took two records apart", str(merge.into))
    _after(record, today)


def _after(record: ServiceRecord, today: date) -> None:
    record.refresh_from_db(fields=["merged_into"])
    renew_warranty(record, today=today)
    inputs_changed.send(
        sender=ServiceRecord,
        household=record.rig.household,
        rig_ids=[record.rig_id],
        as_of=today,
    )


def _withdraw_completions(record: ServiceRecord, into: ServiceRecord) -> list[int]:
    """Of the items, at the places, that the other record completed too."""
    theirs = list(_completions_of(into))
    twice = [
        one.pk
        for one in _completions_of(record)
        if any(
            one.item_id == x.item_id and _covers(x.places, one.places) for x in theirs
        )
    ]
    Completion.objects.filter(pk__in=twice).update(withdrawn=True)
    return twice


def _completions_of(record: ServiceRecord) -> Sequence[Completion]:
    rows = Completion.objects.filter(record_lines__record=record, withdrawn=False)
    return list(rows.distinct())


def _withdraw_events(record: ServiceRecord, into: ServiceRecord) -> list[int]:
    theirs = list(into.events.filter(withdrawn=False))
    twice = [
        one.pk
        for one in record.events.filter(withdrawn=False)
        if any(one.kind == x.kind and _covers(x.places, one.places) for x in theirs)
    ]
    Event.objects.filter(pk__in=twice).update(withdrawn=True)
    return twice


def _covers(places: list[str] | None, others: list[str] | None) -> bool:
    """Whether all of `others` are among `places`; None means all of them."""
    return places is None or (others is not None and set(others) <= set(places))


def _put_back(record: ServiceRecord, into: ServiceRecord) -> list[int]:
    """Into stock what both took out; the rows of the record."""
    theirs = set(into.supplies.values_list("supply", flat=True)) - {None}
    twice = list(record.supplies.filter(supply__in=theirs).select_related("supply"))
    for one in twice:
        if one.supply is not None:
            put_in(one.supply, one.amount)
    return [one.pk for one in twice]
