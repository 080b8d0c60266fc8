"""Which findings and photos a request may touch."""

from uuid import UUID

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Finding, Photo


def get_finding(request: HouseholdRequest, pk: int) -> Finding:
    rows = Finding.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household", "item"), pk=pk)


def get_photo(request: HouseholdRequest, key: UUID) -> Photo:
    rows = Photo.objects.filter(rig__household=request.member.household)
    return get_or_404(rows, key=key)
