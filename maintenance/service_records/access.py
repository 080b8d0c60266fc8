"""Which records and proof a request may touch."""

from uuid import UUID

from django.http import HttpRequest

from maintenance.households.access import get_or_404

from .models import Attachment, ServiceRecord
from .queries import records_of


def get_record(request: HttpRequest, pk: int) -> ServiceRecord:
    return get_or_404(records_of(request.member.household), pk=pk)


def get_attachment(request: HttpRequest, key: UUID) -> Attachment:
    rows = Attachment.objects.filter(rig__household=request.member.household)
    return get_or_404(rows, key=key)
