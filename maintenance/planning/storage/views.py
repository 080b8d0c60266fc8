"""The page of a stay, its visits, what its runways rest on, and its end."""

from datetime import date, timedelta
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from maintenance.findings.fitness import Fitness, fitness_of
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans.models import PlanItem
from maintenance.service_records.saying import tell_what_follows
from maintenance.ui.charts import draw_spans, svg_answer
from maintenance.vehicles.access import get_rig, get_stay
from maintenance.vehicles.models import Rig, RunwaySetting, Stay
from maintenance.vehicles.rhythm import set_runways

from . import services
from .forms import RunwayForm, VisitForm, WakeForm
from .runway_rows import cards_of
from .shopping import to_buy
from .work import Job, StayWork, end_of, stay_work, watch_days

MOST_VISITS = 6  # told ahead


@member_required()
def stay(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_stay(request, pk)
    return render(request, "planning/stay.html", stay_context(found, request.today))


def stay_context(found: Stay, today: date) -> dict[str, Any]:
    """What the page and the printed sheet show."""
    work = stay_work(found, today)
    return {
        "stay": found,
        "rig": found.rig,
        "today": today,
        "work": work,
        "buy": to_buy(found, work.entry),
        "cards": cards_of(found, today),
        "watch": [(job, _rhythm(found, job, today)) for job in work.watch],
        "visits": found.visits.select_related("entered_by").order_by("-on"),
        "is_open": found.is_open(today),
        "fitness": _fitness(found.rig, today),
    }


def _fitness(rig: Rig, today: date) -> Fitness | None:
    return fitness_of(rig.household, today, [rig]).get(rig.pk)


def _rhythm(found: Stay, job: Job, today: date) -> dict[str, Any]:
    """Every how many days, and the days that come: the first as Due has it, which knows
    what was read."""
    days = watch_days(found, job.item)
    if days is None or found.ended_on is not None:
        return {"days": days, "dates": [], "late": False}
    end = end_of(found, today)
    first = max(job.done_on or found.start, found.start) + timedelta(days=days)
    first = job.next_on or first
    all_days = (first + timedelta(days=n * days) for n in range(MOST_VISITS))
    dates = [day for day in all_days if end is None or day <= end]
    return {"days": days, "dates": dates, "late": bool(dates) and dates[0] < today}


@member_required()
def runway_chart(request: HouseholdRequest, pk: int, key: str) -> HttpResponse:
    cards = cards_of(get_stay(request, pk), request.today)
    chart = next((card.chart for card in cards if card.key == key), None)
    if chart is None:
        raise Http404
    return svg_answer(draw_spans(chart))


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

    def save(**_data: Any) -> bool:
        _visit, recorded = services.visit(
            found, by=request.member, today=request.today, **form.values()
        )
        if recorded is not None:
            tell_what_follows(request, found.rig, recorded.follows)
        return True

    return form_page(
        request,
        form,
        heading=f"Visit of {found.rig}",
        intro="A reading takes the place of the estimate from then on.",
        back=reverse("stay", args=[pk]),
        save=save,
        done="Kept. The runways count from what you read.",
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
        heading=f"How long things last on {rig}",
        intro=(
            "What its runways rest on, in this stay and those to come. What you leave "
            "empty gives no estimate."
        ),
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
        heading=f"{found.rig} leaves storage",
        back=reverse("stay", args=[pk]),
        save=lambda **data: services.wake(
            found, by=request.member, today=request.today, **data
        ),
        done="The stay has ended. See Due for what comes now.",
        template="planning/wake.html",
        stay=found,
        work=work,
        fitness=_fitness(found.rig, request.today),
    )
