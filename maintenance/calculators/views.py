"""The bench: a page for each calculator. Reckoning changes nothing; keeping does."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.core.calculators.answers import CalculatorError
from maintenance.households.access import (
    HouseholdRequest,
    get_or_404,
    member_required,
    row_id,
)
from maintenance.households.models import DistanceUnit, Role
from maintenance.households.refusals import Refused
from maintenance.library.model import Procedure
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import rigs_of

from .models import KeptFigure
from .services import drop_figure, keep_figure
from .serving import serve
from .subjects import CALCULATORS
from .subjects.base import (
    Calculator,
    CalculatorForm,
    Line,
    cautions_of,
    sources_of,
    validity_of,
)


@member_required()
def bench(request: HouseholdRequest) -> HttpResponse:
    """All calculators by group, and the figures that were kept."""
    groups = [
        (title, list(rows))
        for title, rows in groupby(CALCULATORS.values(), key=lambda one: one.group)
    ]
    kept = KeptFigure.objects.for_household(request.member.household)
    context = {"groups": groups, "kept": kept.select_related("rig", "kept_by")}
    return render(request, "calculators/calculators.html", context)


@dataclass(frozen=True)
class Result:
    """What a form came to; no lines where something is missing or wrong."""

    lines: Sequence[Line]

    @property
    def cautions(self) -> list[str]:
        return cautions_of(self.lines)

    @property
    def sources(self) -> list[str]:
        return sources_of(self.lines)

    @property
    def validity(self) -> list[str]:
        return validity_of(self.lines)


@member_required()
def calculator(request: HouseholdRequest, key: str) -> HttpResponse:
    found = _calculator(key)
    form = _form(request, found, request.GET)
    result = _reckon(request, found, form)
    context: dict[str, Any] = {
        "calculator": found,
        "form": form,
        "result": result,
        "query": request.GET.urlencode(),
        "rigs": rigs_of(request.member.household),
    }
    if "HX-Request" in request.headers:
        return render(request, "calculators/_result.html", context)
    household = request.member.household
    context |= {
        "jobs": _jobs(request, found),
        "kept": KeptFigure.objects.for_household(household)
        .filter(calculator=key)
        .select_related("rig"),
    }
    return render(request, "calculators/calculator.html", context)


def _calculator(key: str) -> Calculator:
    if key not in CALCULATORS:
        raise Http404
    return CALCULATORS[key]


def _form(
    request: HouseholdRequest, found: Calculator, data: QueryDict
) -> CalculatorForm:
    """Filled as the address says; without any field in it, still to be filled."""
    metric = request.member.household.distance_unit == DistanceUnit.KILOMETERS
    asked = any(name in data for name in found.form.base_fields)
    return found.form(data if asked else None, metric=metric)


def _reckon(
    request: HouseholdRequest, found: Calculator, form: CalculatorForm
) -> Result:
    if not form.is_bound or not form.is_valid():
        return Result(())
    try:
        return Result(found.reckon(form.cleaned_data | {"today": request.today}))
    except CalculatorError as error:
        form.refuse(error)
        return Result(())


def _jobs(
    request: HouseholdRequest, found: Calculator
) -> list[tuple[Procedure, list[PlanItem]]]:
    """Where the figure is used: the procedures, and their items on the rigs' plans."""
    every = load_library().procedures.values()
    using = [one for one in every if found.key in one.calculators]
    rows = PlanItem.objects.for_household(request.member.household).active()
    keys = [one.key for one in using]
    items = list(rows.filter(key__in=keys).select_related("rig"))
    on_rigs = {(item.key, item.rig_id): item for item in items}  # one of a rig's tires
    return [
        (one, [item for (key, _rig), item in on_rigs.items() if key == one.key])
        for one in using
    ]


@require_POST
@member_required(Role.CREW)
def keep(request: HouseholdRequest, key: str) -> HttpResponse:
    """Reckon anew from what the page was filled with, and keep it for a rig."""
    found = _calculator(key)
    data = QueryDict(request.POST.get("query", ""))
    form = _form(request, found, data)
    result = _reckon(request, found, form)
    back = f"{reverse('calculator', args=[key])}?{data.urlencode()}"
    pk = row_id(request.POST.get("rig", ""))
    if pk is None or not result.lines:
        messages.error(
            request, "Calculate a figure first, then choose a rig to keep it for."
        )
        return redirect(back)
    rig = get_rig(request, pk)
    try:
        said = _keep_and_serve(request, rig, found, form, result)
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect(back)
    messages.success(request, " ".join([f"Kept for {rig}.", *said]))
    return redirect(back)


@transaction.atomic
def _keep_and_serve(
    request: HouseholdRequest,
    rig: Rig,
    found: Calculator,
    form: CalculatorForm,
    result: Result,
) -> list[str]:
    """What it changed, in words."""
    keep_figure(
        rig,
        by=request.member,
        today=request.today,
        calculator=found,
        typed=QueryDict(request.POST.get("query", "")).dict(),
        lines=result.lines,
        note=request.POST.get("note", "").strip()[:200],
    )
    return serve(
        rig, found.key, form.cleaned_data, by=request.member, today=request.today
    )


@require_POST
@member_required(Role.CREW)
def drop(request: HouseholdRequest, pk: int) -> HttpResponse:
    rows = KeptFigure.objects.for_household(request.member.household)
    drop_figure(get_or_404(rows, pk=pk), by=request.member)
    messages.success(request, "Figure deleted.")
    return redirect("bench")
