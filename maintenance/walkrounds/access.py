"""Which walk-arounds a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import WalkRound


def get_walkround(request: HouseholdRequest, pk: int) -> WalkRound:
    rows = WalkRound.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household", "record"), pk=pk)
