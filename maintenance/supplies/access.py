"""Which tools and supplies a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Supply, Tool


def get_tool(request: HouseholdRequest, pk: int) -> Tool:
    return get_or_404(Tool.objects.for_household(request.member.household), pk=pk)


def get_supply(request: HouseholdRequest, pk: int) -> Supply:
    return get_or_404(Supply.objects.for_household(request.member.household), pk=pk)
