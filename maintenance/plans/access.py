"""Which plan items a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import ItemPage, ItemSupply, PlanItem, Standing
from .queries import standings_of


def get_item(request: HouseholdRequest, pk: int) -> PlanItem:
    rows = PlanItem.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household", "maker"), pk=pk)


def get_item_and_standing(
    request: HouseholdRequest, pk: int
) -> tuple[PlanItem, Standing | None]:
    """None for one that is off the plan."""
    rows = standings_of(request.member.household)
    rows = rows.select_related("item__rig__household", "item__maker")
    standing = rows.filter(item=pk).first()
    return (standing.item, standing) if standing else (get_item(request, pk), None)


def get_item_page(request: HouseholdRequest, pk: int) -> ItemPage:
    rows = ItemPage.objects.filter(item__rig__household=request.member.household)
    return get_or_404(rows.select_related("item"), pk=pk)


def get_item_supply(request: HouseholdRequest, pk: int) -> ItemSupply:
    rows = ItemSupply.objects.filter(item__rig__household=request.member.household)
    return get_or_404(rows.select_related("item", "supply"), pk=pk)
