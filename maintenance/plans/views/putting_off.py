"""Putting an item off, and taking it off the plan."""

from functools import partial

from django.http import HttpResponse
from django.urls import reverse

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans import services
from maintenance.plans.access import get_item
from maintenance.plans.forms import DeferForm, DropForm
from maintenance.plans.queries import meter_of


@member_required(Role.CREW)
def defer(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    meter = meter_of(found)
    return form_page(
        request,
        DeferForm(request.POST or None, item=found, unit=meter.unit if meter else ""),
        heading=f"Put off: {found}",
        intro="It stays on the list, with the date and your reason.",
        back=reverse("item", args=[pk]),
        save=partial(services.defer, found, by=request.member, today=request.today),
    )


@member_required(Role.KEEPER)
def drop_item(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    return form_page(
        request,
        DropForm(request.POST or None),
        heading=f"Remove from the plan: {found}",
        intro="Its history stays. You can add it again.",
        back=reverse("item", args=[pk]),
        go_on=reverse("rig", args=[found.rig_id]),
        save=partial(services.drop_item, found, by=request.member, today=request.today),
    )
