"""What an item uses up, and the list of what plans ask for."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans.access import get_item, get_item_supply
from maintenance.plans.models import ItemSupply, PlanItem
from maintenance.plans.queries import procedure_of
from maintenance.supplies.services import add_supply
from maintenance.work_sheets import needs
from maintenance.work_sheets.forms.needs import AskedForForm, UseForm


@member_required(Role.CREW)
def use_supply(request: HouseholdRequest, pk: int) -> HttpResponse:
    """What the item uses up, chosen from the list or put on it at once."""
    found = get_item(request, pk)
    asked = _asked(request, found)
    return form_page(
        request,
        UseForm(request.POST or None, item=found, asked=asked),
        heading=f"Supplies for {asked or found}",
        back=reverse("item", args=[pk]),
        save=partial(_save, found, request, asked),
        done="Recording the job subtracts it from stock.",
    )


def _asked(request: HouseholdRequest, found: PlanItem) -> str:
    """What the procedure calls it; only words that it really has."""
    asked, procedure = request.GET.get("asked", ""), procedure_of(found)
    return asked if procedure and asked in procedure.supplies else ""


@transaction.atomic
def _save(
    found: PlanItem,
    request: HouseholdRequest,
    asked: str,
    *,
    supply: Any,
    amount: Any,
    **new: Any,
) -> ItemSupply:
    by = request.member
    supply = supply or add_supply(by.household, by=by, **new)
    return needs.use_supply(found, by=by, supply=supply, amount=amount, asked=asked)


@require_POST
@member_required(Role.CREW)
def stop_using(request: HouseholdRequest, pk: int) -> HttpResponse:
    use = get_item_supply(request, pk)
    needs.stop_using(use, by=request.member)
    messages.success(request, "Removed from the job. It stays on your list.")
    return redirect("item", use.item_id)


@member_required(Role.CREW)
def asked_for(request: HouseholdRequest) -> HttpResponse:
    household = request.member.household
    asked = needs.asked_for(household)
    return form_page(
        request,
        AskedForForm(request.POST or None, asked=asked),
        heading="What your plans need",
        intro="Tick what you have. The rest is listed as missing.",
        template="work_sheets/asked_for.html",
        asked=asked,
        back=reverse("supplies"),
        save=partial(needs.add_to_inventory, household, by=request.member),
        submit="Save ticked",
        done="Added to your list.",
    )
