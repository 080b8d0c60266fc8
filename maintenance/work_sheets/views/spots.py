"""Where the hidden places of a rig are: the list, and telling one."""

from functools import partial

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.library.reading import load_library
from maintenance.ui.going_back import way_back
from maintenance.vehicles import manuals as shelf
from maintenance.vehicles.access import get_rig
from maintenance.work_sheets.forms.spots import SpotForm
from maintenance.work_sheets.spots import spots_on


@member_required()
def rig_spots(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    rows = spots_on(rig)
    context = {
        "rig": rig,
        "rows": rows,
        "told": [line for line in rows if line.told],
        "missing": [line for line in rows if not line.told],
    }
    return render(request, "work_sheets/spots.html", context)


@member_required(Role.CREW)
def tell_spot(request: HouseholdRequest, pk: int, name: str) -> HttpResponse:
    rig = get_rig(request, pk)
    spot = load_library().spots.get(name)
    if spot is None:
        raise Http404
    told = shelf.spots_of(rig).get(name)
    return form_page(
        request,
        SpotForm(request.POST or None, request.FILES or None, told=told),
        changes=rig,
        now=lambda: SpotForm(told=shelf.spots_of(rig).get(name)),
        heading=f"Where it is: {spot.title}",
        intro=f"Usually: {spot.often} Take the photo from where you'd stand.",
        template="work_sheets/tell_spot.html",
        told=told,
        back=way_back(request, reverse("rig_spots", args=[pk])),
        save=partial(_save, rig, request, name),
        done="Saved. Every job that needs it shows it.",
    )


def _save(rig, request: HouseholdRequest, name: str, **told) -> bool:
    """True, also where nothing is told any more."""
    shelf.tell_spot(rig, by=request.member, today=request.today, name=name, **told)
    return True
