"""Costs: of all rigs, or of one."""

from django.http import HttpResponse
from django.shortcuts import render

from maintenance.households.access import HouseholdRequest, member_required, row_id
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.queries import rigs_of

from .page import cost_page

STOPS = 20  # shown of a rig


@member_required()
def costs(request: HouseholdRequest) -> HttpResponse:
    household = request.member.household
    pk = row_id(request.GET.get("rig", ""))
    rig = get_rig(request, pk) if pk is not None else None
    rigs = list(rigs_of(household).select_related("household"))
    asked = [rig] if rig else rigs
    page = cost_page(asked, currency=household.currency, today=request.today)
    context = {
        "page": page,
        "rig": rig,
        "rigs": rigs,
        "currency": household.currency,
        "stops": page.stops[:STOPS] if rig else [],
    }
    return render(request, "pages/costs.html", context)
