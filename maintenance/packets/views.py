"""The packets of a household: asking for one, watching it, fetching it."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from csp.decorators import csp_replace
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.households.refusals import Missing, Refused
from maintenance.jobs.pages import get_job, job_page, stop_from_page
from maintenance.packets.history.build import build_history
from maintenance.plans.queries import household_is_stale
from maintenance.plans.standings import renew_household
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig

from . import services
from .files import download_name, path_of
from .models import Packet
from .page import history_page
from .proof import listed
from .queries import material_of

PAGE = 50
# The print carries its style inside and loads nothing else.
PRINT_POLICY = {
    "default-src": ["'none'"],
    "style-src": ["'unsafe-inline'"],
    "img-src": ["data:"],  # its charts stand in the page itself
    "frame-ancestors": ["'none'"],
}


@member_required()
def packets(request: HouseholdRequest) -> HttpResponse:
    household = request.member.household
    rows = Packet.objects.for_household(household).select_related("rig", "asked_by")
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    rigs = Rig.objects.for_household(household)
    context = {"rows": list(page), "page": page, "rigs": rigs}
    return render(request, "packets/packets.html", context)


@require_POST
@member_required(Role.CREW)
def ask(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return ask_from_page(
        request, services.ask_for_history, rig, by=request.member, today=request.today
    )


def ask_from_page(
    request: HouseholdRequest, ask_for: Callable[..., Packet], rig: Rig, **about: Any
) -> HttpResponse:
    """Ask by a service and show the packet's page, or those in work and why not."""
    try:
        made = ask_for(rig, **about)
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("packets")
    return redirect("packet", made.key)


@never_cache
@member_required()
def packet(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, Packet, key)
    return job_page(
        request, found, "packets/packet.html", page="packet", stop="stop_packet"
    )


@never_cache
@member_required()
def packet_file(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    found = get_job(request, Packet, key)
    path = path_of(found)
    if not found.is_ready:
        raise Http404
    if not path.is_file() or path.stat().st_size != found.size:
        raise Missing("Its file is missing or damaged. Remove it, then print it again.")
    response = FileResponse(
        path.open("rb"),
        content_type="application/pdf",
        as_attachment=True,
        filename=download_name(found),
    )
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_POST
@member_required(Role.CREW)
def stop(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, Packet, key)
    return stop_from_page(request, found, services.stop_packet, page="packet")


@require_POST
@member_required(Role.CREW)
def remove(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, Packet, key)
    try:
        services.remove_packet(found, by=request.member)
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("packet", found.key)
    messages.success(request, "Removed. You can print it again anytime.")
    return redirect("packets")


@csp_replace(PRINT_POLICY)
@member_required()
def preview(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The same content as a page, at once: without photos, files not checked."""
    household = request.member.household
    if household_is_stale(household, request.today):
        renew_household(household, as_of=request.today)
    history = build_history(
        material_of(get_rig(request, pk), request.today),
        made_by=request.member.name,
        made_at=timezone.now(),
        proof=listed,
    )
    return HttpResponse(history_page(history, back_url=reverse("packets")))
