"""The page of a stay, its visits, what its runways rest on, and its end."""

from datetime import date, timedelta
from functools import partial
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from maintenance.findings.fitness import Fitness, fitness_of
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans.models import PlanItem
from maintenance.service_records.saying import saved_url, tell_what_follows
from maintenance.service_records.services import Recorded
from maintenance.ui.words import day_words
from maintenance.vehicles.access import get_rig, get_stay
from maintenance.vehicles.models import Rig, RunwaySetting, Stay
from maintenance.vehicles.rhythm import set_runways
from maintenance.vehicles.runways import runways_of

from . import services
from .forms import RunwayForm, VisitForm, WakeForm
from .runway_rows import cards_of, care_of
from .shopping import to_buy
from .winter import frost_words, lasting, winter_of
from .work import BEFORE, Job, StayWork, by_place, end_of, stay_work, watch_days

MOST_VISITS = 6  # told ahead


@member_required()
def stay(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_stay(request, pk)
    return render(request, "planning/stay.html", stay_context(found, request.today))


def stay_context(found: Stay, today: date) -> dict[str, Any]:
    """What the page and the printed sheet show."""
    work = stay_work(found, today)
    watch = [(job, _rhythm(found, job, today)) for job in work.watch]
    ways = runways_of(found)
    visits = sorted(ways.visits, key=lambda visit: visit.on, reverse=True)
    cards = cards_of(ways, today)
    return {
        "stay": found,
        "rig": found.rig,
        "today": today,
        "work": work,
        "buy": to_buy(ways, work.entry),
        "cards": cards,
        "lasting": lasting(cards),
        "care": care_of(cards),
        "winter": winter_of(found, work, watch, visits, today),
        "frost": frost_words(found),
        "entry": by_place(work.entry, "entry"),
        "exit": by_place(work.exit, "exit"),
        "watch": watch,
        "visits": visits,
        "is_waking": _is_waking(found, today),
        "is_open": found.is_open(today),
        "fitness": _fitness(found.rig, today),
    }


def _is_waking(found: Stay, today: date) -> bool:
    """Whether what is done now counts for its end."""
    end = end_of(found, today)
    return found.ended_on is None and end is not None and today >= end - BEFORE


def _fitness(rig: Rig, today: date) -> Fitness | None:
    return fitness_of(rig.household, today, [rig]).get(rig.pk)


def _rhythm(found: Stay, job: Job, today: date) -> dict[str, Any]:
    """Every how many days, and the days that come: the first as Due has it, which knows
    what was read."""
    days = watch_days(found, job.item)
    words = f"every {days} days" if days else ""
    if job.done_on:
        words += f"{', ' if words else ''}last {day_words(job.done_on)}"
    if days is None or found.ended_on is not None:
        return {"days": days, "dates": [], "late": False, "words": words, "next": ""}
    end = end_of(found, today)
    first = max(job.done_on or found.start, found.start) + timedelta(days=days)
    first = job.next_on or first
    all_days = (first + timedelta(days=n * days) for n in range(MOST_VISITS))
    dates = [day for day in all_days if end is None or day <= end]
    late = bool(dates) and dates[0] < today
    told = f"{'was due' if late else 'next'} by {day_words(dates[0])}" if dates else ""
    return {"days": days, "dates": dates, "late": late, "words": words, "next": told}


@member_required(Role.CREW)
def visit_stay(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_stay(request, pk)
    items = _watched(stay_work(found, request.today))
    form = VisitForm(
        request.POST or None,
        request.FILES or None,
        stay=found,
        items=items,
        initial={"on": request.today},
    )

    def save(**_data: Any) -> Recorded | None:
        _visit, recorded = services.visit(
            found, by=request.member, today=request.today, **form.values()
        )
        if recorded is not None:
            tell_what_follows(request, found.rig, recorded.follows)
        return recorded

    return form_page(
        request,
        form,
        heading=f"Visit: {found.rig}",
        template="planning/visit.html",
        care=care_of(cards_of(runways_of(found), request.today)),
        intro="Your readings replace the estimates.",
        back=reverse("stay", args=[pk]),
        save=save,
        go_on=partial(saved_url, reverse("stay", args=[pk])),
        done="Saved. Estimates now count from your readings.",
    )


def _watched(work: StayWork) -> list[PlanItem]:
    return [job.item for job in work.watch]


@member_required(Role.CREW)
def runways(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)

    def form_of(data: Any = None) -> RunwayForm:
        rows = RunwaySetting.objects.filter(rig=rig)
        return RunwayForm(data, instance=rows.first() or RunwaySetting(rig=rig))

    form = form_of(request.POST or None)
    last = rig.stays.filter(ended_on=None, withdrawn=False).order_by("start").first()
    back = reverse("stay", args=[last.pk]) if last else reverse("storage")
    return form_page(
        request,
        form,
        changes=rig,
        now=form_of,
        heading=f"How long it lasts: {rig}",
        intro=("For this stay and later ones. Blanks give no estimate."),
        back=back,
        save=lambda **_data: set_runways(
            rig, by=request.member, today=request.today, **form.values()
        ),
    )


@member_required(Role.CREW)
def end_stay(request: HouseholdRequest, pk: int) -> HttpResponse:
    """Waking up: the list in its safe order, and the end of the stay."""
    found = get_stay(request, pk)
    work = stay_work(found, request.today)
    with_why = bool(work.unsafe) and request.member.is_keeper
    form = WakeForm(
        request.POST or None, with_why=with_why, initial={"ended_on": request.today}
    )
    return form_page(
        request,
        form,
        heading=f"Take {found.rig} out of storage",
        back=reverse("stay", args=[pk]),
        save=lambda **data: services.wake(
            found, by=request.member, today=request.today, **data
        ),
        done="It's out of storage. See Due for what comes next.",
        template="planning/wake.html",
        stay=found,
        work=work,
        exit=by_place(work.exit, "exit"),
        fitness=_fitness(found.rig, request.today),
    )
