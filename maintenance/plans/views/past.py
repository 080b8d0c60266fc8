"""What was done before: of a whole rig at once, or of one item."""

from collections.abc import Callable
from functools import partial
from typing import Any

from django.http import HttpResponse
from django.urls import reverse

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans import services
from maintenance.plans.access import get_item
from maintenance.plans.asking import asked_of_item, asked_of_rig, said_of
from maintenance.plans.forms import BaselinesForm
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig


def _page(
    request: HouseholdRequest,
    form_of: Callable[..., BaselinesForm],
    rig: Rig,
    heading: str,
    back: str,
) -> HttpResponse:
    form = form_of(request.POST or None)
    state = partial(services.state_baselines, rig, by=request.member)
    return form_page(
        request,
        form,
        changes=rig,
        now=form_of,
        heading=heading,
        template="plans/baselines.html",
        rig=rig,
        back=back,
        save=lambda **_data: state(today=request.today, answers=form.answers) + 1,
        done="Saved. What's due was updated.",
    )


@member_required(Role.KEEPER)
def baselines(request: HouseholdRequest, pk: int) -> HttpResponse:
    """Everything that was not asked yet, on one page."""
    rig = get_rig(request, pk)

    def form_of(data: Any = None) -> BaselinesForm:
        asked = asked_of_rig(rig)
        return BaselinesForm(data, rig=rig, asked=asked, today=request.today)

    heading = f"Past work on {rig}"
    return _page(request, form_of, rig, heading, reverse("rig", args=[pk]))


@member_required(Role.KEEPER)
def state_baseline(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The same of one item, also to correct what was said."""
    found = get_item(request, pk)

    def form_of(data: Any = None) -> BaselinesForm:
        now = get_item(request, pk)
        return BaselinesForm(
            data,
            rig=now.rig,
            asked=asked_of_item(now),
            today=request.today,
            initial=said_of(now),
        )

    heading = f"Past work: {found}"
    return _page(request, form_of, found.rig, heading, reverse("item", args=[pk]))
