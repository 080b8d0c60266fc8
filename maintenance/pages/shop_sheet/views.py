"""Asking for the shop sheet as a PDF: chosen on a page, or from a guide."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.core.trouble import TroubleError
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.packets.models import PacketKind
from maintenance.packets.services import ask_for_sheet
from maintenance.packets.views import ask_from_page
from maintenance.troubleshooting.place import Place
from maintenance.troubleshooting.views import SHEET_FIELDS
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig

from .forms import ShopSheetForm
from .sheet import ShopSheet, offered_findings, offered_jobs, printed, shop_sheet


@member_required(Role.CREW)
def choose_shop_sheet(request: HouseholdRequest, pk: int) -> HttpResponse:
    """Which findings and which work the shop is asked for."""
    rig = get_rig(request, pk)
    form = ShopSheetForm(
        request.POST if request.method == "POST" else None,
        findings=offered_findings(rig),
        items=offered_jobs(rig, request.today),
    )
    if form.is_valid():
        told = [("Noticed or asked for", form.cleaned_data["words"].strip())]
        chosen = form.chosen
        return _ask(request, shop_sheet(rig, request.today, chosen=chosen, told=told))
    context = {
        "form": form,
        "rig": rig,
        "cancel_url": reverse("shop_list", args=[rig.pk]),
    }
    return render(request, "pages/shop_sheet.html", context)


@require_POST
@member_required(Role.CREW)
def print_shop_sheet(request: HouseholdRequest, pk: int) -> HttpResponse:
    """From a guide: its path, and all that is asked of a shop."""
    rig = get_rig(request, pk)
    told = [
        (str(label), request.POST.get(name, "").strip()[:500])
        for name, label in SHEET_FIELDS.items()
    ]
    place = _place(request, rig)
    return _ask(request, shop_sheet(rig, request.today, place=place, told=told))


def _ask(request: HouseholdRequest, sheet: ShopSheet) -> HttpResponse:
    return ask_from_page(
        request,
        ask_for_sheet,
        sheet.rig,
        by=request.member,
        today=request.today,
        kind=PacketKind.SHOP,
        title=str(sheet.rig),
        page=printed(sheet),
    )


def _place(request: HouseholdRequest, rig: Rig) -> Place | None:
    """Where in a guide it was asked for, if in one."""
    key = request.POST.get("guide", "")
    if not key:
        return None
    path = tuple(part for part in request.POST.get("path", "").split(",") if part)
    place = Place(key, path, rig)
    try:
        _walk = place.walk
    except TroubleError:
        raise Http404 from None
    return place
