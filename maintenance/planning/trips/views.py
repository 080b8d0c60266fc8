"""Trips: the list, planning one, telling how it went."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.activity import note_activity
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.vehicles import trips as services
from maintenance.vehicles.access import get_rig, get_trip
from maintenance.vehicles.correcting import withdraw_fact
from maintenance.vehicles.models import Trip
from maintenance.vehicles.queries import rigs_of
from maintenance.vehicles.trip_forms import TripToldForm, first_guess

from .leaving import WHY, LeavingForm
from .listing import trip_lists
from .sheet import trip_sheet


@member_required()
def trips(request: HouseholdRequest) -> HttpResponse:
    household = request.member.household
    context = {
        "lists": trip_lists(household, request.today),
        "rigs": rigs_of(household),
        "today": request.today,
    }
    return render(request, "planning/trips.html", context)


def _keep(request: HouseholdRequest, save: Any, **data: Any) -> Trip:
    """Save, and say where one vehicle would be on two trips at once."""
    why = data.pop(WHY, "").strip()
    trip = save(**data)
    if why:
        note_activity(request.member, "left though unfit", f"{trip.rig}: {why}")
    for words in services.overlap_words(trip):
        messages.warning(request, words)
    return trip


def _trip_url(trip: Trip) -> str:
    return reverse("trip", args=[trip.pk])


@member_required()
def trip(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The sheet of one trip, which prints as it stands."""
    found = get_trip(request, pk)
    context = {
        "trip": found,
        "sheet": trip_sheet(found, request.today),
        "overlaps": list(services.overlap_words(found)),
        "ask": services.nobody_told(found, request.today),
        "today": request.today,
    }
    return render(request, "planning/trip.html", context)


def _form(request: HouseholdRequest, *data: Any, **about: Any) -> LeavingForm:
    return LeavingForm(*data, by=request.member, today=request.today, **about)


@member_required(Role.CREW)
def plan_trip(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    initial = {"unit": rig.household.distance_unit}
    save = partial(services.plan_trip, rig, by=request.member, today=request.today)
    return form_page(
        request,
        _form(request, request.POST or None, rig=rig, initial=initial),
        heading=f"Trip of {rig}",
        back=reverse("trips"),
        save=partial(_keep, request, save),
        done="Saved. This is its trip sheet. What's due before it is on Due too.",
        go_on=_trip_url,
    )


@member_required(Role.CREW)
def change_trip(request: HouseholdRequest, pk: int) -> HttpResponse:
    trip = get_trip(request, pk)
    # The form writes into its own copy: the service must see what was before.
    about = {"rig": trip.rig, "instance": get_trip(request, pk)}
    form = _form(request, request.POST or None, **about)
    save = partial(services.change_trip, trip, by=request.member, today=request.today)
    return form_page(
        request,
        form,
        changes=trip,
        now=lambda: _form(request, rig=trip.rig, instance=get_trip(request, pk)),
        heading=f"Trip of {trip.rig}",
        back=_trip_url(trip),
        save=partial(_keep, request, save),
    )


@member_required(Role.CREW)
def tell_trip(request: HouseholdRequest, pk: int) -> HttpResponse:
    trip = get_trip(request, pk)

    def form_of(one: Trip, data: Any = None) -> TripToldForm:
        return TripToldForm(data, trip=one, initial=first_guess(one))

    form = form_of(trip, request.POST or None)
    save = partial(services.tell_trip, trip, by=request.member, today=request.today)
    return form_page(
        request,
        form,
        changes=trip,
        now=lambda: form_of(get_trip(request, pk)),
        heading=f"How did “{trip}” go?",
        back=_trip_url(trip),
        save=lambda **_data: (
            _call_off(request, trip)
            if form.did_not_go
            else _keep(request, save, **form.told(request.today))
        ),
        done=lambda told: (
            "No distance: the trip is canceled."
            if told.withdrawn
            else " ".join(["Saved. All rigs on the trip count it.", *form.echoes])
        ),
        go_on=lambda told: reverse("trips") if told.withdrawn else _trip_url(told),
    )


@require_POST
@member_required(Role.CREW)
def cancel_trip(request: HouseholdRequest, pk: int) -> HttpResponse:
    _call_off(request, get_trip(request, pk))
    messages.success(request, "Trip canceled. It no longer counts.")
    return redirect("trips")


def _call_off(request: HouseholdRequest, trip: Trip) -> Trip:
    """A plan goes; a trip that had begun did not take place after all."""
    by, today = request.member, request.today
    if trip.start > today:
        services.cancel_trip(trip, by=by, today=today)
        return trip
    withdraw_fact(trip, by=by, today=today, why="canceled")
    trip.refresh_from_db()
    return trip
