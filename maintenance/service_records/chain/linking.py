"""Adding to the chains: records once they can be undone no more, and each change."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from maintenance.core.chain import BEFORE_FIRST, digest_of, plain, text_of
from maintenance.households.models import Member
from maintenance.vehicles.models import Rig

from ..models import ChainLink, LinkKind, ServiceRecord
from .content import content_of, contents_of
from .versions import newest

UNDO_FOR = timedelta(minutes=10)
BATCH = 1000  # records linked in one transaction


def unlinked(rig: Rig) -> QuerySet[ServiceRecord]:
    """In the order in which they were entered."""
    rows = ServiceRecord.objects.filter(rig=rig, links__isnull=True)
    return rows.order_by("entered_at", "pk")


def link_ripe(now: datetime) -> int:
    """Link what was entered ten minutes ago or more, on every rig; how many."""
    ripe = ServiceRecord.objects.filter(_ripe(now), links__isnull=True)
    rigs = Rig.objects.filter(pk__in=ripe.order_by().values("rig"))
    return sum(link_rig(rig, now) for rig in rigs)


def _ripe(now: datetime) -> Q:
    """Entered ten minutes ago, or by a clock that was ahead and was set back."""
    return Q(entered_at__lte=now - UNDO_FOR) | Q(entered_at__gt=now + UNDO_FOR)


def link_rig(rig: Rig, now: datetime) -> int:
    """Link the rig's records that can be undone no more; how many."""
    linked = 0
    while more := _link_some(rig, now):
        linked += more
    return linked


@transaction.atomic
def _link_some(rig: Rig, now: datetime) -> int:
    _hold(rig)
    rows = unlinked(rig).filter(_ripe(now))[:BATCH]
    records = list(rows.select_related("entered_by"))
    _append(rig, records, [_entered(record, now) for record in records])
    return len(records)


def _hold(rig: Rig) -> None:
    """Until commit: of two that add to a chain the later sees the other's links. (On
    SQLite every write transaction waits for the other; the lock is for PostgreSQL.)"""
    Rig.objects.select_for_update().get(pk=rig.pk)


def _entered(record: ServiceRecord, now: datetime) -> dict[str, Any]:
    by = record.entered_by.name if record.entered_by else ""
    return {"kind": LinkKind.ENTERED.value, "at": now, "by": by, "why": ""}


def _append(
    rig: Rig, records: list[ServiceRecord], about: list[dict[str, Any]]
) -> None:
    """A link each, behind the last one. The caller holds the rig."""
    last = ChainLink.objects.filter(rig=rig).order_by("-position").first()
    position, before = (last.position, last.digest) if last else (0, BEFORE_FIRST)
    contents = contents_of(record.pk for record in records)
    links = []
    for record, each in zip(records, about, strict=True):
        position += 1
        text = text_of(
            {
                "link": position,
                "record": contents[record.pk],
                "rig": str(rig.row_key),
                "version": newest(),
                **{name: plain(value) for name, value in each.items()},
            }
        )
        before = digest_of(before, text)
        links.append(
            ChainLink(
                rig=rig, position=position, record=record, text=text, digest=before
            )
        )
    ChainLink.objects.bulk_create(links, batch_size=500)


def may_be_undone(record: ServiceRecord, now: datetime) -> bool:
    """Entered less than ten minutes ago, and neither linked nor changed since."""
    young = now - record.entered_at < UNDO_FOR
    return young and record.voided_at is None and not record.links.exists()


@dataclass
class Change:
    """Whether the change made the record say something else; known at its end."""

    made: bool = False


@contextmanager
def changing(
    record: ServiceRecord, *, by: Member, why: str, kind: LinkKind = LinkKind.AMENDED
) -> Iterator[Change]:
    """Around every change of a record's content: what it was is linked if it is not
    yet, and what it has become, with who, when and why, once the change is made.

    A change that changes nothing leaves no link.
    """
    with transaction.atomic():
        now = timezone.now()
        _hold(record.rig)
        link_rig(record.rig, now)  # or those that waited would seem to be put in later
        if not record.links.exists():
            _append(record.rig, [record], [_entered(record, now)])
        before = content_of(record)
        change = Change()
        yield change
        change.made = content_of(record) != before
        if change.made:
            about = {"kind": kind.value, "at": now, "by": by.name, "why": why.strip()}
            _append(record.rig, [record], [about])


@contextmanager
def voiding_all(
    rig: Rig, ids: list[int], *, by: Member, why: str
) -> Iterator[list[ServiceRecord]]:
    """As `changing`, around making many records of one rig void."""
    with transaction.atomic():
        now = timezone.now()
        _hold(rig)
        link_rig(rig, now)
        rows = ServiceRecord.objects.filter(pk__in=ids).select_related("entered_by")
        records = list(rows.order_by("entered_at", "pk"))
        fresh = set(unlinked(rig).filter(pk__in=ids).values_list("pk", flat=True))
        new = [record for record in records if record.pk in fresh]
        _append(rig, new, [_entered(record, now) for record in new])
        yield records
        about = {"kind": LinkKind.VOIDED.value, "at": now, "by": by.name}
        _append(rig, records, [about | {"why": why.strip()}] * len(records))
