"""From the frame to a page of one rig: which one is asked, and not where there is but
one. New readings are typed right there, for every rig."""

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.ui.navigation import WAYS
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import meters_asked, rigs_of


@member_required(Role.CREW)
def record_for(request: HouseholdRequest, act: str) -> HttpResponse:
    way = next((one for one in WAYS if one.act == act), None)
    if way is None:
        raise Http404
    if way.page == "give_reading":
        return _new_readings(request, way.label)
    return _ask(request, way.label, "Which rig?", way.page)


@member_required()
def seals(request: HouseholdRequest) -> HttpResponse:
    """The tamper check goes over one rig's records."""
    words = "A seal over every record shows if one was changed later. Check which rig?"
    return _ask(request, "Tamper check", words, "rig_chain")


def _rigs(request: HouseholdRequest) -> list[Rig]:
    return list(rigs_of(request.member.household).prefetch_related("meters"))


def _ask(request: HouseholdRequest, title: str, say: str, page: str) -> HttpResponse:
    rigs = _rigs(request)
    if len(rigs) == 1:
        return redirect(page, rigs[0].pk)
    links = [(rig, reverse(page, args=[rig.pk])) for rig in rigs]
    context = {"title": title, "say": say, "links": links}
    return render(request, "pages/which_rig.html", context)


def _new_readings(request: HouseholdRequest, title: str) -> HttpResponse:
    found = [(rig, meters_asked(rig)) for rig in _rigs(request)]
    rows = [(rig, meters) for rig, meters in found if meters]
    context = {"title": title, "rows": rows, "today": request.today}
    return render(request, "pages/new_readings.html", context)
