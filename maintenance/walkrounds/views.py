"""Walk-arounds: the list, one with its zones, one look as a small post, the end."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.core.words import counted
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page, saved
from maintenance.households.models import Role
from maintenance.service_records.saying import saved_url, tell_what_follows
from maintenance.service_records.services import Recorded
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.queries import rigs_of

from . import rounds
from .access import get_walkround
from .forms import FinishForm, LookForm
from .models import WalkRound
from .queries import RoundPage, ZoneState, round_page, walkrounds_of

PAGE = 30
SCRIPT = "X-Walk"  # sent by the page's script, which wants the zone alone
KEPT = "X-Kept"  # its answer: the token of the look that is kept


@dataclass(frozen=True, slots=True)
class ZoneView:
    """A zone with its form, as the templates take it."""

    state: ZoneState
    form: LookForm


@member_required()
def walkrounds(request: HouseholdRequest) -> HttpResponse:
    rows = walkrounds_of(request.member.household)
    page = Paginator(rows.filter(finished_on__isnull=False), PAGE).get_page(
        request.GET.get("page")
    )
    going = list(rows.filter(pk__in=WalkRound.objects.unfinished()))
    under_way = {one.rig_id for one in going}
    rigs = rigs_of(request.member.household)
    context = {
        "going": going,
        "rows": page,
        "page": page,
        "rigs": [rig for rig in rigs if rig.pk not in under_way],
        "any_rig": bool(rigs),
    }
    return render(request, "walkrounds/walkrounds.html", context)


@require_POST
@member_required(Role.CREW)
def start_walkround(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    if rig.sold_on is not None:
        raise Http404
    made = rounds.start_walkround(rig, by=request.member, today=request.today)
    return redirect("walkround", made.pk)


@member_required()
def walkround(request: HouseholdRequest, pk: int) -> HttpResponse:
    return _whole_page(request, round_page(get_walkround(request, pk)))


@require_POST
@member_required(Role.CREW)
def keep_look(request: HouseholdRequest, pk: int, zone: str) -> HttpResponse:
    """One look. What is wrong with it comes back in the form, filled in as it was."""
    found = get_walkround(request, pk)
    page = round_page(found)
    state = page.of(zone)
    if state is None:
        raise Http404
    form = LookForm(request.POST, request.FILES, state=state)
    kept = form.is_valid() and saved(
        form,
        partial(rounds.keep_look, found, by=request.member, today=request.today),
        zone=zone,
        **form.look(),
    )
    if SCRIPT in request.headers:
        return _zone_alone(request, page, form, kept)
    if not kept:
        return _whole_page(request, page, form, zone)
    messages.success(request, f"Saved: {state.zone}.")
    return redirect(f"{reverse('walkround', args=[pk])}#{_next_after(page, zone)}")


def _zone_alone(
    request: HouseholdRequest, page: RoundPage, form: LookForm, kept: object
) -> HttpResponse:
    """The zone as it stands now, for the script to put in its place."""
    zone = page.of(form.zone)
    if kept:
        page = round_page(page.walkround)
        zone = page.of(form.zone)
    if zone is None:
        raise Http404
    shown = ZoneView(zone, LookForm(state=zone) if kept else form)
    context = _context(page) | {"one": shown}
    status = 200 if kept else 422
    answer = render(request, "walkrounds/_zone.html", context, status=status)
    if kept:
        answer[KEPT] = str(form.cleaned_data["token"])
    return answer


def _whole_page(
    request: HouseholdRequest,
    page: RoundPage,
    form: LookForm | None = None,
    zone: str = "",
) -> HttpResponse:
    def views() -> Iterator[ZoneView]:
        for state in page.zones:
            mine = form if state.zone.key == zone else None
            yield ZoneView(state, mine or LookForm(state=state))

    context = _context(page) | {"zones": list(views()), "wrong": form}
    return render(request, "walkrounds/walkround.html", context)


def _context(page: RoundPage) -> dict[str, object]:
    count = len(page.zones)
    progress = f"{page.looked} of {counted(count, 'zone')} looked at"
    return {
        "walkround": page.walkround,
        "rig": page.walkround.rig,
        "progress": progress,
    }


def _next_after(page: RoundPage, key: str) -> str:
    """Where to go on: the next zone that nobody has looked at, else the end."""
    keys = [one.zone.key for one in page.zones]
    after = page.zones[keys.index(key) + 1 :]
    left = next((one.zone.key for one in after if not one.looks), None)
    return f"zone-{left}" if left else "finish"


@member_required(Role.CREW)
def finish_walkround(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_walkround(request, pk)
    back = reverse("walkround", args=[pk])
    if found.finished_on is not None:
        return redirect(back)
    posted = request.POST if request.method == "POST" else None
    form = FinishForm(
        posted,
        items=rounds.answerable(found),
        rig=found.rig,
        told=rounds.wheel_work_told(found),
    )

    def save(**_data: Any) -> Recorded | None:
        recorded = rounds.finish_walkround(
            found, by=request.member, today=request.today, **form.finish()
        )
        if recorded is not None:
            tell_what_follows(request, found.rig, recorded.follows)
        return recorded

    return form_page(
        request,
        form,
        heading=f"Finish walk-around: {found.rig}",
        back=back,
        submit="Finish walk-around",
        save=save,
        go_on=partial(saved_url, back),
        done="Walk-around finished.",
        template="walkrounds/finish.html",
        missing=round_page(found).missing,
        items=form.items.values(),
    )
