"""Which components a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Component, Fitting


def get_component(request: HouseholdRequest, pk: int) -> Component:
    rows = Component.objects.for_household(request.member.household)
    return get_or_404(rows.select_related("rig__household", "household"), pk=pk)


def get_fitting(request: HouseholdRequest, pk: int) -> Fitting:
    """One that was not withdrawn."""
    household = request.member.household
    rows = Fitting.objects.filter(component__household=household, withdrawn=False)
    return get_or_404(rows.select_related("component", "rig__household"), pk=pk)
