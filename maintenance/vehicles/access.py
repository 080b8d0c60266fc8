"""Which rigs, meters, stays and trips a request may touch."""

from maintenance.households.access import HouseholdRequest, get_or_404

from .models import Reading, Rig, Stay, Trip


def get_rig(request: HouseholdRequest, pk: int) -> Rig:
    household = request.member.household
    return get_or_404(
        Rig.objects.for_household(household).select_related("household"), pk=pk
    )


def get_reading(request: HouseholdRequest, pk: int) -> Reading:
    rows = Reading.objects.filter(meter__rig__household=request.member.household)
    return get_or_404(rows.select_related("meter__rig__household"), pk=pk)


def get_stay(request: HouseholdRequest, pk: int) -> Stay:
    rows = Stay.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig__household"), pk=pk)


def get_trip(request: HouseholdRequest, pk: int) -> Trip:
    rows = Trip.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig__household", "tow_vehicle"), pk=pk)
