"""The date printed on a paper."""

from functools import partial

from django.http import HttpResponse
from django.urls import reverse

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.plans.access import get_item
from maintenance.plans.forms.papers import PaperForm
from maintenance.plans.papers import is_dated_paper, set_expiry


@member_required(Role.CREW)
def paper_date(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_item(request, pk)
    return form_page(
        request,
        PaperForm(request.POST or None),
        heading=f"Date on the paper: {found}",
        intro="The last day it's good. It wins over every rule.",
        back=reverse("item", args=[pk]),
        save=partial(_save, found, request),
        done="Saved. The job is due by this date.",
    )


def _save(found, request: HouseholdRequest, **given):
    if not is_dated_paper(found):
        raise Refused("This job isn't a paper with a date.")
    return set_expiry(found, by=request.member, today=request.today, **given)
