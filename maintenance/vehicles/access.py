"""Which rigs, meters, stays and trips a request may touch."""

from django.http import HttpRequest

from maintenance.households.access import get_or_404

from .models import Reading, Rig, Stay, Trip


def get_rig(request: HttpRequest, pk: int) -> Rig:
    household = request.member.household
    return get_or_404(
        Rig.objects.for_household(household).select_related("household"), pk=pk
    )


def get_reading(request: HttpRequest, pk: int) -> Reading:
    rows = Reading.objects.filter(meter__rig__household=request.member.household)
    return get_or_404(rows.select_related("meter__rig__household"), pk=pk)


def get_stay(request: HttpRequest, pk: int) -> Stay:
    rows = Stay.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig__household"), pk=pk)


def get_trip(request: HttpRequest, pk: int) -> Trip:
    rows = Trip.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig__household", "tow_vehicle"), pk=pk)
