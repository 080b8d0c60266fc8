"""Telling that something happened, what a rig was told, and putting it right."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from maintenance.core.units import show
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans.event_words import event_words
from maintenance.plans.queries import following
from maintenance.ui.words import day_words
from maintenance.vehicles import services
from maintenance.vehicles.access import get_event, get_rig
from maintenance.vehicles.events import Told, figures_of
from maintenance.vehicles.events import correct_event as correct
from maintenance.vehicles.models import Event
from maintenance.vehicles.road import tow_meter_on

from .forms import CorrectEventForm, EventForm


@member_required(Role.CREW)
def report_event(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_rig(request, pk)
    form = EventForm(
        request.POST or None,
        rig=found,
        meters=found.meters.all(),
        tow=tow_meter_on(found, request.today),
        initial={"on": request.today},
    )

    def save(**_data: Any) -> Event:
        told = form.event(request.today)
        return services.report_event(
            found, by=request.member, today=request.today, **told
        )

    return form_page(
        request,
        form,
        heading=f"Something happened to {found}",
        intro="What follows from it stands on Due from then on.",
        back=reverse("rig", args=[pk]),
        save=save,
        done=lambda event: " ".join([_what_follows(event), *_left_out(request, event)]),
    )


@member_required()
def rig_events(request: HouseholdRequest, pk: int) -> HttpResponse:
    """All that happened to a rig, newest first, with the figures that count."""
    found = get_rig(request, pk)
    events = list(
        found.events.filter(withdrawn=False)
        .prefetch_related("records")
        .order_by("-on", "-pk")
    )
    figures = figures_of(found, events, as_of=request.today)
    rows = [
        {
            "event": event,
            "words": event_words(event.kind),
            "figures": [
                (str(one), "" if one.counts else _instead(one))
                for one in figures[event.pk]
            ],
            "record": next(iter(event.records.all()), None),
        }
        for event in events
    ]
    return render(request, "pages/rig_events.html", {"rig": found, "rows": rows})


@member_required(Role.CREW)
def correct_event(request: HouseholdRequest, pk: int) -> HttpResponse:
    event = get_event(request, pk)
    record = event.records.first()
    if record is not None:
        return redirect("record", record.pk)
    form = CorrectEventForm(request.POST or None, event=event)

    def save(why: str, seen: str, **_data: Any) -> Event:
        return correct(
            event,
            by=request.member,
            today=request.today,
            why=why,
            seen=seen,
            **form.event(request.today),
        )

    return form_page(
        request,
        form,
        heading=f"Correct: {event_words(event.kind)}",
        intro=f"{event.rig}, told for {day_words(event.on)}.",
        back=reverse("rig_events", args=[event.rig_id]),
        save=save,
        done=lambda event: " ".join(["Corrected.", *_left_out(request, event)]),
    )


def _what_follows(event: Event) -> str:
    items = ", ".join(item.title for item in following(event))
    if items:
        return f"Kept. What follows from it: {items}."
    return (
        "Kept. Nothing on the plan follows from it, as the plan stood on "
        f"{day_words(event.on)}."
    )


def _left_out(request: HouseholdRequest, event: Event) -> list[str]:
    """Of each figure that does not count, what counts instead."""
    told = figures_of(event.rig, [event], as_of=request.today)[event.pk]
    return [f"{one}: {_instead(one)}" for one in told if not one.counts]


def _instead(one: Told) -> str:
    if one.instead is None:
        return "questionable, so it doesn't count. Enter the right one."
    return (
        "questionable, so it doesn't count. {value} is used, estimated from the "
        "readings."
    ).format(value=show(one.instead, one.unit, places=0 if one.unit != "h" else 1))
