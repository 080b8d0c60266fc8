"""Which packets a request may touch."""

from uuid import UUID

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Packet
from .queries import packets_of


def get_packet(request: HouseholdRequest, key: UUID) -> Packet:
    return get_or_404(packets_of(request.member.household), key=key)
