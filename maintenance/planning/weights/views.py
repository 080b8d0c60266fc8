"""A rig's labels, its scale tickets, and what they leave."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.components.axles import axles_of
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.vehicles import weights as services
from maintenance.vehicles.access import get_rig, get_ticket
from maintenance.vehicles.models import Rig, WeightLabel
from maintenance.vehicles.trip_forms import usual_weight_unit

from .forms import LabelForm, TicketForm
from .page import weights_page


@member_required()
def weights(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return render(
        request, "planning/weights.html", {"rig": rig, "page": weights_page(rig)}
    )


def _url(rig: Rig) -> str:
    return reverse("weights", args=[rig.pk])


@member_required(Role.KEEPER)
def weight_label(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)

    def form_of(data: Any = None) -> LabelForm:
        label = WeightLabel.objects.filter(rig=rig).first() or WeightLabel(
            rig=rig, unit=usual_weight_unit(rig.household)
        )
        return LabelForm(data, instance=label, axles=axles_of(rig))

    return form_page(
        request,
        form_of(request.POST or None),
        changes=rig,
        now=form_of,
        heading=f"Labels of {rig}",
        intro="Copy them from the manufacturer's labels. Leave the rest blank.",
        back=_url(rig),
        save=partial(services.keep_label, rig, by=request.member),
    )


@member_required(Role.CREW)
def add_ticket(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    initial: dict[str, Any] = {
        "on": request.today,
        "unit": usual_weight_unit(rig.household),
        "trailer" if rig.is_trailer else "rig": rig.pk,
    }
    return form_page(
        request,
        TicketForm(request.POST or None, initial=initial, rig=rig),
        heading="Scale ticket",
        intro=(
            "Weigh the vehicle alone, then with the trailer coupled, to get the "
            "hitch weight. Keep the load the same; the same day is best."
        ),
        back=_url(rig),
        save=partial(
            services.keep_ticket, None, by=request.member, today=request.today
        ),
    )


@member_required(Role.CREW)
def change_ticket(request: HouseholdRequest, pk: int) -> HttpResponse:
    ticket = get_ticket(request, pk)
    form = TicketForm(
        request.POST or None, instance=get_ticket(request, pk), rig=ticket.rig
    )
    return form_page(
        request,
        form,
        changes=ticket,
        now=lambda: TicketForm(instance=get_ticket(request, pk), rig=ticket.rig),
        heading="Scale ticket",
        back=_url(ticket.rig),
        save=partial(
            services.keep_ticket, ticket, by=request.member, today=request.today
        ),
    )


@require_POST
@member_required(Role.CREW)
def remove_ticket(request: HouseholdRequest, pk: int) -> HttpResponse:
    ticket = get_ticket(request, pk)
    services.remove_ticket(ticket, by=request.member)
    messages.success(request, "Removed.")
    return redirect("weights", ticket.rig_id)
