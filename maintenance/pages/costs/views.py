"""Costs: of all rigs, or of one."""

from django.http import HttpResponse
from django.shortcuts import render

from maintenance.households.access import HouseholdRequest, member_required, row_id
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import rigs_of

from .of_use import stops_of
from .page import CostPage, cost_page


@member_required()
def costs(request: HouseholdRequest) -> HttpResponse:
    rig, page = _asked(request)
    context = {
        "page": page,
        "rig": rig,
        "rigs": rigs_of(request.member.household),
        "currency": request.member.household.currency,
        "stops": stops_of(rig)[:20] if rig else [],
    }
    return render(request, "pages/costs.html", context)


def _asked(request: HouseholdRequest) -> tuple[Rig | None, CostPage]:
    household = request.member.household
    pk = row_id(request.GET.get("rig", ""))
    rig = get_rig(request, pk) if pk is not None else None
    rigs = [rig] if rig else list(rigs_of(household).select_related("household"))
    page = cost_page(rigs, currency=household.currency, today=request.today)
    return rig, page
