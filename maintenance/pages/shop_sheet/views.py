"""Asking for the shop sheet as a PDF, from the shop's list or from a guide."""

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from maintenance.core.trouble import TroubleError
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.packets.models import PacketKind
from maintenance.packets.services import ask_for_sheet
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig
from maintenance.walkrounds.trouble.place import Place
from maintenance.walkrounds.trouble.views import SHEET_FIELDS

from .sheet import printed, shop_sheet


@require_POST
@member_required(Role.CREW)
def print_shop_sheet(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    told = [
        (str(label), request.POST.get(name, "").strip()[:500])
        for name, label in SHEET_FIELDS.items()
    ]
    sheet = shop_sheet(rig, request.today, _place(request, rig), told)
    packet = ask_for_sheet(
        rig,
        by=request.member,
        today=request.today,
        kind=PacketKind.SHOP,
        title=str(rig),
        page=printed(sheet),
    )
    return redirect("packet", packet.key)


def _place(request: HouseholdRequest, rig: Rig) -> Place | None:
    """Where in a guide it was asked for, if in one."""
    key = request.POST.get("guide", "")
    if not key:
        return None
    path = tuple(part for part in request.POST.get("path", "").split(",") if part)
    place = Place(key, path, rig)
    try:
        _ = place.walk
    except TroubleError:
        raise Http404 from None
    return place
