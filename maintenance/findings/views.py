"""Findings: the list, one, what becomes of it, and the sheet for the shop."""

from functools import partial
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required, row_id
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.ui.forms import WhyForm
from maintenance.ui.going_back import way_back
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.queries import rigs_of
from maintenance.vehicles.uploads import file_answer

from . import services
from .access import get_finding, get_photo
from .forms import FindingForm, JudgeAgainForm, PlanForm
from .models import Finding, FindingState
from .photos import path_of
from .queries import findings_of, shop_findings

PAGE = 50
SHOW = {
    "": "Not right",
    "unfit": "Unfit to travel",
    "shop": "For the shop",
    **dict(FindingState.choices),
    "all": "All",
}


@member_required()
def findings(request: HouseholdRequest) -> HttpResponse:
    """Those not right yet; `rig` and `show` narrow the list or widen it."""
    household = request.member.household
    rows = _filtered(findings_of(household), request.GET)
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    context = {
        "rows": page,
        "page": page,
        "rigs": rigs_of(household),
        "rig": request.GET.get("rig", ""),
        "show": request.GET.get("show", ""),
        "shows": SHOW,
    }
    return render(request, "findings/findings.html", context)


def _filtered(rows: Any, asked: QueryDict) -> Any:
    rig, show = asked.get("rig", ""), asked.get("show", "")
    if (pk := row_id(rig)) is not None:
        rows = rows.filter(rig=pk)
    if show in FindingState.values:
        return rows.filter(state=show)
    if show == "all":
        return rows
    rows = rows.not_right_yet().filter(rig__sold_on__isnull=True)
    wanted = {"unfit": {"unfit": True}, "shop": {"for_shop": True}}
    return rows.filter(**wanted.get(show, {}))


@member_required()
def finding(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_finding(request, pk)
    sightings = found.sightings.select_related("look__by", "look__walkround")
    lines = found.line_links.select_related("line")
    context = {
        "finding": found,
        "found_by": lines.filter(how="found").first(),
        "fixed_by": lines.filter(how="fixed").first(),
        "opened_in": found.opened_in.first(),
        "rig": found.rig,
        "photos": found.photos.all(),
        "sightings": sightings,
        "on_plan": found.item is not None and found.item.dropped_on is None,
    }
    return render(request, "findings/finding.html", context)


@member_required(Role.CREW)
def add_finding(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return form_page(
        request,
        FindingForm(request.POST or None, request.FILES or None, rig=rig),
        heading=f"Something's wrong on {rig}",
        back=reverse("rig", args=[pk]),
        save=partial(services.open_finding, rig, by=request.member, on=request.today),
        done="Saved. It stays on Due until it's fixed.",
        go_on=lambda made: reverse("finding", args=[made.pk]),
    )


@member_required(Role.CREW)
def judge_finding(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_finding(request, pk)

    def form_of(one: Finding, data: Any = None) -> JudgeAgainForm:
        names = ("what", "zone", "severity", "unfit")
        said = {name: getattr(one, name) for name in names}
        return JudgeAgainForm(data, rig=found.rig, initial=said)

    return form_page(
        request,
        form_of(found, request.POST or None),
        changes=found,
        now=lambda: form_of(get_finding(request, pk)),
        heading="Change how urgent",
        back=reverse("finding", args=[pk]),
        save=partial(services.judge_finding, found, by=request.member),
    )


@member_required(Role.KEEPER)
def plan_finding(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_finding(request, pk)
    return form_page(
        request,
        PlanForm(request.POST or None, initial={"title": found.what[:120]}),
        heading=f"Plan the fix for {found.rig}",
        intro="It shows on Due like any other job. Recording it closes this.",
        back=reverse("finding", args=[pk]),
        save=partial(
            services.plan_finding, found, by=request.member, today=request.today
        ),
        done="Added to the plan.",
    )


@member_required(Role.CREW)
def accept_finding(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_finding(request, pk)
    return form_page(
        request,
        WhyForm(request.POST or None),
        heading=f"Leave it as is: {found}",
        back=reverse("finding", args=[pk]),
        save=partial(services.accept_finding, found, by=request.member),
        done="Saved, with your reason.",
    )


@require_POST
@member_required(Role.CREW)
def set_for_shop(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_finding(request, pk)
    return _changed(
        request, found, services.set_for_shop, wanted="wanted" in request.POST
    )


@require_POST
@member_required(Role.CREW)
def fix_finding(request: HouseholdRequest, pk: int) -> HttpResponse:
    """Put right without a record: no more than that it was said so."""
    return _changed(request, get_finding(request, pk), services.close_finding)


@require_POST
@member_required(Role.CREW)
def reopen_finding(request: HouseholdRequest, pk: int) -> HttpResponse:
    return _changed(request, get_finding(request, pk), services.reopen_finding)


def _changed(
    request: HouseholdRequest, found: Finding, change: Any, **how: Any
) -> HttpResponse:
    try:
        change(found, by=request.member, **how)
        messages.success(request, "Saved.")
    except Refused as refusal:
        messages.error(request, refusal.text)
    default = reverse("finding", args=[found.pk])
    return redirect(way_back(request, default))


@member_required()
def shop_list(request: HouseholdRequest, pk: int) -> HttpResponse:
    """What a shop is to look at, to be printed."""
    rig = get_rig(request, pk)
    context = {"rig": rig, "rows": shop_findings(rig), "today": request.today}
    return render(request, "findings/shop_list.html", context)


@member_required()
def walk_photo(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    photo = get_photo(request, key)
    return file_answer(
        path_of(photo),
        content_type="image/jpeg",
        name=f"{photo.added_on}.jpg",
        sha256=photo.sha256,
        inline=True,
    )
