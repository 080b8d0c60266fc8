"""The maker's page of an item: pointing to it, and no more."""

from functools import partial

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans.access import get_item, get_item_page
from maintenance.work_sheets import manual_pages as pointing
from maintenance.work_sheets.forms.manual_pages import PageForm


@member_required(Role.CREW)
def point_to_page(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    if not found.rig.manuals.exists():
        messages.info(request, "Add the manual first, then link its page.")
        return redirect("manuals", found.rig_id)
    return form_page(
        request,
        PageForm(request.POST or None, item=found),
        heading=f"Manual page for {found}",
        back=reverse("item", args=[pk]),
        save=partial(pointing.point_to_page, found, by=request.member),
        done="Page linked.",
    )


@require_POST
@member_required(Role.CREW)
def remove_page(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item_page(request, pk)
    pointing.remove_page(found, by=request.member)
    messages.success(request, "Page link removed.")
    return redirect("item", found.item_id)
