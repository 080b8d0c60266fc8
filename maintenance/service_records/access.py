"""Which records and proof a request may touch."""

from uuid import UUID

from django.db.models import Prefetch, Q, QuerySet
from django.http import Http404

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Attachment, RecordLine, ServiceRecord


def get_record(request: HouseholdRequest, pk: int) -> ServiceRecord:
    return get_or_404(_shown(request), pk=pk)


def get_record_with_merged(
    request: HouseholdRequest, pk: int
) -> tuple[ServiceRecord, list[ServiceRecord]]:
    """Also those of the same work that were merged into it."""
    rows = _shown(request).filter(Q(pk=pk) | Q(merged_into=pk))
    found = {row.pk: row for row in rows.prefetch_related("links", "events")}
    if pk not in found:
        raise Http404
    return found.pop(pk), list(found.values())


def _shown(request: HouseholdRequest) -> QuerySet[ServiceRecord]:
    """With all that the page of one shows."""
    return (
        ServiceRecord.objects.for_household(request.member.household)
        .select_related("rig__household", "torque", "entered_by", "warranty_item")
        .prefetch_related(
            Prefetch("lines", RecordLine.objects.select_related("item")),
            "torque__places",
            "attachments",
            "parts_used",
        )
    )


def get_attachment(request: HouseholdRequest, key: UUID) -> Attachment:
    rows = Attachment.objects.filter(rig__household=request.member.household)
    return get_or_404(rows, key=key)
