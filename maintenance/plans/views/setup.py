"""Setting up a rig: what it has, the plan proposed from that, and the plan itself."""

from functools import partial

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.library.reading import load_library
from maintenance.plans import services
from maintenance.plans.drafts import draft_plan
from maintenance.plans.forms import EquipmentForm, PlanForm
from maintenance.plans.sheets import plan_sheet
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.services import change_rig


@member_required()
def rig_plan(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The plan of a rig: every item by its rules, and what there is to decide."""
    rig = get_rig(request, pk)
    context = {"rig": rig, "sheet": plan_sheet(rig, request.today)}
    return render(request, "plans/plan.html", context)


@member_required(Role.KEEPER)
def rig_equipment(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    build = partial(EquipmentForm, library=load_library())
    form = build(request.POST or None, rig=rig)
    return form_page(
        request,
        form,
        changes=rig,
        now=lambda: build(rig=get_rig(request, pk)),
        heading=f"Equipment of {rig}",
        intro="We suggest a plan from this. The usual equipment is already ticked.",
        submit="Next: the plan",
        back=reverse("rig", args=[pk]),
        save=lambda **_data: change_rig(
            rig, by=request.member, today=request.today, equipment=form.chosen()
        ),
        done="Saved. Now check the plan.",
        go_on=reverse("propose_plan", args=[pk]),
    )


@member_required(Role.KEEPER)
def propose_plan(request: HouseholdRequest, pk: int) -> HttpResponse:
    """What the library proposes for the rig, and what of its plan fits no more."""
    rig = get_rig(request, pk)
    draft = draft_plan(rig, request.today)
    form = PlanForm(request.POST or None, draft=draft)
    settle = partial(services.settle_plan, rig, by=request.member, today=request.today)
    return form_page(
        request,
        form,
        heading=f"A plan for {rig}",
        template="plans/propose.html",
        rig=rig,
        draft=draft,
        back=reverse("rig_plan", args=[pk]),
        save=lambda **_data: settle(**form.settling()),
        done="Plan saved. Next: add past work that you know of.",
        go_on=reverse("baselines", args=[pk]),
    )
