"""Which files a request may touch."""

from uuid import UUID

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Bringing
from .queries import bringings_of


def get_bringing(request: HouseholdRequest, key: UUID) -> Bringing:
    return get_or_404(bringings_of(request.member.household), key=key)
