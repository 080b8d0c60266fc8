"""Which records and proof a request may touch."""

from uuid import UUID

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Attachment, ServiceRecord
from .queries import records_of


def get_record(request: HouseholdRequest, pk: int) -> ServiceRecord:
    return get_or_404(records_of(request.member.household), pk=pk)


def get_attachment(request: HouseholdRequest, key: UUID) -> Attachment:
    rows = Attachment.objects.filter(rig__household=request.member.household)
    return get_or_404(rows, key=key)
