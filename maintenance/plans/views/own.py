"""Procedures of the household's own: written and changed."""

from functools import partial

from django.db.models import QuerySet
from django.http import HttpResponse
from django.urls import reverse

from maintenance.households.access import (
    HouseholdRequest,
    get_or_404,
    member_required,
)
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans import services
from maintenance.plans.forms import OwnProcedureForm
from maintenance.plans.models import OwnProcedure, PlanItem
from maintenance.vehicles.access import get_rig


@member_required(Role.KEEPER)
def write_procedure(request: HouseholdRequest, pk: int) -> HttpResponse:
    """A procedure of one's own, taken on by the rig that it is written for."""
    rig = get_rig(request, pk)
    meters = {meter.kind: meter.unit for meter in rig.meters.all()}
    form = OwnProcedureForm(
        request.POST or None,
        meters=meters,
        items=_choices(PlanItem.objects.active().filter(rig=rig)),
    )
    write = partial(
        services.write_procedure, rig, by=request.member, today=request.today
    )
    return form_page(
        request,
        form,
        heading=f"Your own job for {rig}",
        template="plans/own.html",
        back=reverse("rig_plan", args=[pk]),
        save=lambda **_data: write(**form.procedure()),
        done="Saved and added to the plan.",
        go_on=lambda item: reverse("item", args=[item.pk]),
    )


@member_required(Role.KEEPER)
def change_procedure(request: HouseholdRequest, pk: int) -> HttpResponse:
    household = request.member.household
    own = get_or_404(OwnProcedure.objects.filter(household=household), pk=pk)
    items = PlanItem.objects.for_household(household).filter(key=own.key)
    meters = {
        meter.kind: meter.unit
        for item in items.prefetch_related("rig__meters")
        for meter in item.rig.meters.all()
    }
    others = PlanItem.objects.for_household(household).exclude(key=own.key)
    build = partial(OwnProcedureForm, meters=meters, items=_choices(others))
    form = build(request.POST or None, own=own)
    change = partial(services.change_procedure, own, by=request.member)
    return form_page(
        request,
        form,
        changes=own,
        now=lambda: build(own=OwnProcedure.objects.get(pk=own.pk)),
        heading=f"Change {own}",
        template="plans/own.html",
        back=reverse("library", args=[own.key]),
        save=lambda **_data: change(today=request.today, **form.procedure()),
    )


def _choices(items: QuerySet[PlanItem]) -> list[tuple[str, str]]:
    """Key and title of each item once."""
    return sorted(
        dict(items.values_list("key", "title")).items(), key=lambda pair: pair[1]
    )
