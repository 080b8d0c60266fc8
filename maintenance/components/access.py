"""Which components a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Component


def get_component(request: HouseholdRequest, pk: int) -> Component:
    rows = Component.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household", "household"), pk=pk)
