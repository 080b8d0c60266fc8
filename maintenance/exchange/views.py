"""Bringing a history in, step by step: file, columns, what is open, preview, rows."""

from functools import partial
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from maintenance.core.tables import TableError, propose_fields
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page, saved
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.jobs.pages import asked_by_script, get_job, job_page, stop_from_page
from maintenance.jobs.slot import one_at_a_time
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Rig

from . import services
from .forms import AnswersForm, BeginForm, ColumnsForm, StartForm, VoidAllForm
from .imports.files import Source, source_of_file, source_of_text
from .imports.layout import job_words, open_questions
from .imports.verdicts import layout_of, told_of_wheels
from .matching import propose_items
from .models import ImportJob, RememberedAnswer, State
from .previews import READING, preview_of

PAGE = 50
MOST_JOBS = 80  # those named most often; the others stay in free words
SAMPLES = 3


@member_required(Role.CREW)
def bringings(request: HouseholdRequest) -> HttpResponse:
    """Choose a file or paste rows; below, what was brought in before."""
    household = request.member.household
    form = BeginForm(request.POST or None, request.FILES or None, household=household)
    rows = ImportJob.objects.for_household(household).select_related("rig", "begun_by")
    return form_page(
        request,
        form,
        heading="Import records",
        back=reverse("log"),
        save=partial(_begin, by=request.member),
        done="File read. Nothing is imported yet.",
        go_on=lambda made: reverse("bringing_columns", args=[made.key]),
        template="exchange/bring_in.html",
        rows=rows[:PAGE],
    )


def _begin(*, by: Member, rig: Rig, file: Any, text: str) -> ImportJob:
    try:
        with one_at_a_time(READING):
            source = _source(file, text)
        return services.begin(rig, by=by, source=source)
    except TableError as error:
        raise Refused(str(error), field="file" if file else "text") from None


def _source(file: Any, text: str) -> Source:
    if file:
        return source_of_file(file.name, file.read())
    return source_of_text("Pasted rows", text)


@member_required(Role.CREW)
def columns(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, ImportJob, key)
    try:
        layout = layout_of(found)
    except TableError as error:
        return _gone(request, error)
    household = request.member.household
    known = services.remembered(household, RememberedAnswer.About.COLUMN)
    chosen = {int(n): holds for n, holds in found.columns.items()}
    form = ColumnsForm(
        request.POST or None,
        names=layout.names,
        samples=_samples(layout),
        proposed=chosen or propose_fields(layout.names, known),
    )
    return form_page(
        request,
        form,
        heading="Columns of the file",
        back=reverse("bring_in"),
        save=lambda **_f: _columns_chosen(found, request.member, form),
        done="Columns saved.",
        go_on=reverse("bringing_answers", args=[key]),
        template="exchange/columns.html",
        bringing=found,
        said=layout.table.said,
    )


def _columns_chosen(found: ImportJob, by: Member, form: ColumnsForm) -> ImportJob:
    services.choose_columns(found, by=by, columns=form.columns)
    return found


def _samples(layout: Any) -> list[str]:
    """The first few things that stand in each column."""
    rows = [row for _number, row in layout.body[:200]]
    found = []
    for n in range(layout.table.width):
        cells = (str(row[n])[:40] for row in rows if str(row[n]).strip())
        first = list(dict.fromkeys(cells))[:SAMPLES]
        found.append(" · ".join(first) or "empty")
    return found


@member_required(Role.CREW)
def answers(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, ImportJob, key)
    if not found.columns:
        return redirect("bringing_columns", key)
    try:
        layout = layout_of(found)
    except TableError as error:
        return _gone(request, error)
    items = list(PlanItem.objects.filter(rig=found.rig, dropped_on=None))
    counted = job_words(layout).most_common(MOST_JOBS)
    known = services.remembered(request.member.household, RememberedAnswer.About.JOB)
    proposed = propose_items([words for words, _n in counted], items, known)
    form = AnswersForm(
        request.POST or None,
        asked=open_questions(layout),
        unit=found.distance_unit,
        jobs={words: (n, proposed[words]) for words, n in counted},
        items=items,
    )
    return form_page(
        request,
        form,
        heading="Questions about the file",
        back=reverse("bringing_columns", args=[key]),
        save=lambda **_f: _answered(found, request.member, form),
        done="Answers saved.",
        go_on=reverse("bringing", args=[key]),
        template="exchange/answers.html",
        bringing=found,
        more_jobs=max(0, len(job_words(layout)) - MOST_JOBS),
    )


def _answered(found: ImportJob, by: Member, form: AnswersForm) -> ImportJob:
    services.answer(found, by=by, **form.answers())
    return found


def _gone(request: HouseholdRequest, error: TableError | Refused) -> HttpResponse:
    messages.error(request, str(error))
    return redirect("bring_in")


@never_cache
@member_required(Role.CREW)
def bringing(request: HouseholdRequest, key: UUID) -> HttpResponse:
    """Before the start the preview, then how far it is, then what came of it."""
    found = get_job(request, ImportJob, key)
    if found.is_in_work or asked_by_script(request):
        return job_page(
            request,
            found,
            "exchange/running.html",
            page="bringing",
            stop="stop_bringing",
        )
    if found.state == State.ASKING and not found.columns:
        return redirect("bringing_columns", key)
    return _preview(request, found)


def _preview(request: HouseholdRequest, found: ImportJob) -> HttpResponse:
    try:
        judged = preview_of(found, today=request.today)
    except (TableError, Refused) as error:
        return _gone(request, error)
    if judged is None:
        return render(request, "exchange/preview_waits.html", {"bringing": found})
    counts = judged.counts
    data = request.POST if request.method == "POST" else None
    coming = judged.to_come(with_doubtful=True)
    on_wheels = [row.title for row in told_of_wheels(found.rig, coming)]
    form = StartForm(data, doubtful=counts["doubtful"], on_wheels=on_wheels)
    if request.method == "POST" and _started(form, request, found):
        return redirect("bringing", found.key)
    show = request.GET.get("show", "")
    rows = [row for row in judged.rows if not show or row.verdict == show]
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    context = {
        "bringing": found,
        "form": form,
        "page": page,
        "rows": list(page),
        "show": show,
        "counts": [(word, label, counts[word]) for word, label in VERDICTS],
        "coming": counts["good"] + counts["doubtful"],
        "waiting_here": found.may_start,
    }
    return render(request, "exchange/preview.html", context)


VERDICTS = (
    ("good", "Good"),
    ("doubtful", "Questionable"),
    ("refused", "Can't import"),
    ("known", "Already added"),
)


def _started(form: StartForm, request: HouseholdRequest, found: ImportJob) -> bool:
    return form.is_valid() and bool(
        saved(
            form,
            services.start,
            found,
            by=request.member,
            today=request.today,
            with_doubtful=form.cleaned_data.get("doubtful", False),
            wheels=form.cleaned_data.get("wheels", ""),
        )
    )


@require_POST
@member_required(Role.CREW)
def stop(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, ImportJob, key)
    return stop_from_page(request, found, services.stop, page="bringing")


@require_POST
@member_required(Role.CREW)
def forget(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, ImportJob, key)
    try:
        services.forget(found, by=request.member)
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("bringing", key)
    messages.success(request, "File deleted. Nothing was imported.")
    return redirect("bring_in")


@member_required(Role.KEEPER)
def void_all(request: HouseholdRequest, key: UUID) -> HttpResponse:
    found = get_job(request, ImportJob, key)
    return form_page(
        request,
        VoidAllForm(request.POST or None),
        heading=f"Void all records of {found.file_name}",
        back=reverse("bringing", args=[key]),
        save=lambda why: services.void_all(
            found, by=request.member, today=request.today, why=why
        ),
        done="All records of this file are void.",
        submit="Void all records",
        intro=(
            "Every record from this file stays visible, marked void, and no longer "
            "counts. You can import the file again."
        ),
    )
