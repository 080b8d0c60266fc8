"""Which walk-rounds, findings and photos a request may touch."""

from uuid import UUID

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Finding, Photo, WalkRound


def get_walkround(request: HouseholdRequest, pk: int) -> WalkRound:
    rows = WalkRound.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household", "record"), pk=pk)


def get_finding(request: HouseholdRequest, pk: int) -> Finding:
    rows = Finding.objects.for_household(request.member.household)
    return get_or_404(
        rows.select_related(
            "rig__household", "item", "found_by_line", "fixed_by_line", "found_by_look"
        ),
        pk=pk,
    )


def get_photo(request: HouseholdRequest, key: UUID) -> Photo:
    rows = Photo.objects.filter(rig__household=request.member.household)
    return get_or_404(rows, key=key)
