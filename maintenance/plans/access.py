"""Which plan items a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import PlanItem


def get_item(request: HouseholdRequest, pk: int) -> PlanItem:
    rows = PlanItem.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household"), pk=pk)
