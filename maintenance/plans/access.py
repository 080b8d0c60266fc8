"""Which plan items a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import ItemPage, ItemSupply, PlanItem


def get_item(request: HouseholdRequest, pk: int) -> PlanItem:
    rows = PlanItem.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household"), pk=pk)


def get_item_page(request: HouseholdRequest, pk: int) -> ItemPage:
    rows = ItemPage.objects.filter(item__rig__household=request.member.household)
    return get_or_404(rows.select_related("item"), pk=pk)


def get_item_supply(request: HouseholdRequest, pk: int) -> ItemSupply:
    rows = ItemSupply.objects.filter(item__rig__household=request.member.household)
    return get_or_404(rows.select_related("item", "supply"), pk=pk)
