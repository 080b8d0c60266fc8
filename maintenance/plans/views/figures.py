"""By which rules an item counts: one's own, the maker's, or the library's new ones."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans import services
from maintenance.plans.access import get_item
from maintenance.plans.figures import figures_of
from maintenance.plans.forms import MakerForm, RulesForm
from maintenance.plans.models import MakerFigure, PlanItem, RulesFrom
from maintenance.plans.queries import procedure_of


def _meters(item: PlanItem) -> dict[str, str]:
    return {meter.kind: meter.unit for meter in item.rig.meters.all()}


@member_required(Role.KEEPER)
def change_rules(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    if found.rules_from == RulesFrom.MAKER:
        messages.info(
            request, "It counts by the manufacturer's manual. Change it here."
        )
        return redirect("maker_figure", pk)
    form = RulesForm(request.POST or None, meters=_meters(found), rules=found.triggers)
    change = partial(services.change_rules, found, by=request.member)
    return form_page(
        request,
        form,
        changes=found,
        now=lambda: RulesForm(
            meters=_meters(found), rules=get_item(request, pk).triggers
        ),
        heading=f"When: {found}",
        template="plans/rules.html",
        figures=figures_of(found, request.today),
        back=reverse("item", args=[pk]),
        save=lambda **_data: change(today=request.today, rules=form.rules),
    )


def _maker(item: PlanItem) -> MakerFigure | None:
    return MakerFigure.objects.filter(item=item).prefetch_related("values").first()


@member_required(Role.KEEPER)
def maker_figure(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    maker = _maker(found)

    def form_of(one: MakerFigure | None, data: Any = None) -> MakerForm:
        return MakerForm(
            data,
            item=found,
            maker=one,
            procedure=procedure_of(found),
            meters=_meters(found),
        )

    form = form_of(maker, request.POST or None)
    enter = partial(
        services.set_maker_figure, found, by=request.member, today=request.today
    )
    return form_page(
        request,
        form,
        changes=found,
        now=lambda: form_of(_maker(found)),
        heading=f"Manufacturer's figure: {found}",
        template="plans/maker.html",
        maker=maker,
        figures=figures_of(found, request.today),
        back=reverse("item", args=[pk]),
        save=lambda **_data: enter(**form.maker()),
    )


@require_POST
@member_required(Role.KEEPER)
def settle_offer(request: HouseholdRequest, pk: int) -> HttpResponse:
    """Take the library's rules, keep what counts, or take a maker's figure back."""
    found = get_item(request, pk)
    what, by, today = request.POST.get("as"), request.member, request.today
    try:
        if what == "library":
            services.follow_library(found, by=by, today=today)
        elif what == "no_maker":
            services.remove_maker_figure(found, by=by, today=today)
        else:
            services.keep_rules(found, by=by)
    except Refused as refusal:
        messages.error(request, refusal.text)
    else:
        messages.success(request, f"Saved: {found}.")
    if request.POST.get("back") == "plan":
        return redirect("rig_plan", found.rig_id)
    return redirect("item", pk)
