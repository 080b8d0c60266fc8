"""Sheets of a trip and of a stay, on paper, among the packets."""

from typing import Any

from django.http import HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Household, Role
from maintenance.packets.models import PacketKind
from maintenance.packets.services import ask_for_sheet
from maintenance.packets.views import ask_from_page
from maintenance.planning.storage.views import stay_context
from maintenance.planning.trips.sheet import trip_sheet
from maintenance.ui.local import paper_size
from maintenance.vehicles.access import get_stay, get_trip


def printed(template: str, household: Household, **context: Any) -> str:
    """Whole HTML with its style inside; it loads nothing."""
    context |= {"household": household, "paper": paper_size()}
    return render_to_string(template, context)


@require_POST
@member_required(Role.CREW)
def print_trip(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The sheet as it stands now."""
    trip = get_trip(request, pk)
    page = printed(
        "pages/print/trip.html",
        trip.rig.household,
        trip=trip,
        sheet=trip_sheet(trip, request.today),
    )
    return ask_from_page(
        request,
        ask_for_sheet,
        trip.rig,
        by=request.member,
        today=request.today,
        kind=PacketKind.TRIP,
        title=str(trip),
        page=page,
    )


@require_POST
@member_required(Role.CREW)
def print_stay(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The sheet as it stands now."""
    stay = get_stay(request, pk)
    page = printed(
        "pages/print/stay.html",
        stay.rig.household,
        **stay_context(stay, request.today),
    )
    return ask_from_page(
        request,
        ask_for_sheet,
        stay.rig,
        by=request.member,
        today=request.today,
        kind=PacketKind.STORAGE,
        title=str(stay.rig),
        page=page,
    )
