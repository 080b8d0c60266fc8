"""Telling that something happened, what a rig was told, and putting it right."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.core.paginator import Paginator
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from maintenance.households.access import HouseholdRequest, member_required, require
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans.event_words import event_words
from maintenance.plans.queries import following
from maintenance.plans.services import count_on_new_meter, take_on_checks
from maintenance.service_records.models import ServiceRecord
from maintenance.ui.forms import WhyForm
from maintenance.ui.words import day_words
from maintenance.vehicles import correcting, runs, services
from maintenance.vehicles.access import get_event, get_fact, get_rig
from maintenance.vehicles.correcting import KINDS, Fact, kind_of, rig_of, words_of
from maintenance.vehicles.events import correct_event as correct
from maintenance.vehicles.events import left_out
from maintenance.vehicles.forms import RunForm
from maintenance.vehicles.models import Event, MeterKind, Reading, Run
from maintenance.vehicles.queries import meters_asked
from maintenance.vehicles.road import tow_meter_on
from maintenance.vehicles.runs import logged_words

from .fact_forms import FORMS
from .forms import CorrectEventForm, EventForm
from .listing import changes_of, rows_of

ROWS = 25  # on a page


@member_required(Role.CREW)
def report_event(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_rig(request, pk)
    form = EventForm(
        request.POST or None,
        rig=found,
        meters=meters_asked(found),
        tow=tow_meter_on(found, request.today),
        initial={"on": request.today},
    )

    def save(**_data: Any) -> Event:
        told, by = form.event(request.today), request.member
        with transaction.atomic():
            event = services.report_event(found, by=by, today=request.today, **told)
            take_on_checks(event, by=by, today=request.today)
        return event

    return form_page(
        request,
        form,
        heading=f"Something happened: {found}",
        intro="Any jobs it makes necessary go on Due.",
        back=reverse("rig", args=[pk]),
        save=save,
        done=lambda event: " ".join(
            [_what_follows(event), *form.echoes, *left_out([event])]
        ),
    )


@member_required(Role.CREW)
def log_run(request: HouseholdRequest, pk: int) -> HttpResponse:
    """How long a generator without an hour meter ran on a day."""
    found = get_rig(request, pk)
    meter = found.meters.filter(kind=MeterKind.GENERATOR).first()
    intro = "No hour meter: generator hours are the sum of logged runs."
    if meter and meter.by_runs:
        intro += f" So far: {logged_words(meter)}."
    elif meter:
        intro = "Its hour meter counts now. You can still add runs from before it."

    def save(on: date, hours: Decimal) -> Run:
        run = runs.log_run(
            found, by=request.member, today=request.today, on=on, hours=hours
        )
        if meter is None:
            count_on_new_meter(found, today=request.today)
        return run

    return form_page(
        request,
        RunForm(request.POST or None, initial={"on": request.today}),
        heading=f"Log a generator run: {found}",
        intro=intro,
        back=reverse("rig", args=[pk]),
        save=save,
        done=lambda run: f"Saved. Generator hours: {logged_words(run.meter)}.",
    )


@member_required()
def rig_events(request: HouseholdRequest, pk: int) -> HttpResponse:
    """All that was said of a rig, newest first, with what counts of it."""
    found = get_rig(request, pk)
    page = Paginator(rows_of(found, request.today), ROWS).get_page(
        request.GET.get("page")
    )
    context = {
        "rig": found,
        "rows": page.object_list,
        "page": page if page.has_other_pages() else None,
        "changes": changes_of(found),
    }
    return render(request, "pages/rig_events.html", context)


@member_required(Role.CREW)
def correct_event(request: HouseholdRequest, pk: int) -> HttpResponse:
    event = get_event(request, pk)
    record = event.records.first()
    if record is not None:
        return redirect("record", record.pk)
    form = CorrectEventForm(request.POST or None, event=event)

    def save(why: str, seen: str, **_data: Any) -> Event:
        return correct(
            event,
            by=request.member,
            today=request.today,
            why=why,
            seen=seen,
            **form.event(request.today),
        )

    return form_page(
        request,
        form,
        heading=f"Correct: {event_words(event.kind)}",
        intro=f"{event.rig}, {day_words(event.on)}.",
        back=reverse("rig_events", args=[event.rig_id]),
        save=save,
        done=lambda event: " ".join(["Corrected.", *form.echoes, *left_out([event])]),
    )


@member_required(Role.CREW)
def correct_fact(request: HouseholdRequest, kind: str, pk: int) -> HttpResponse:
    fact = _fact(request, kind, pk)
    if isinstance(fact, Event):
        return redirect("correct_event", pk)
    record = _record_of(fact)
    if record is not None:
        return redirect("amend_record", record.pk)
    require(request.member, kind_of(fact).role)
    form = FORMS[type(fact)](request.POST or None, fact=fact)
    return form_page(
        request,
        form,
        heading=f"Correct: {kind_of(fact).name}",
        intro=f"{rig_of(fact)}: {words_of(fact)}.",
        back=_events_url(fact),
        save=lambda **_data: correcting.correct_fact(
            fact,
            by=request.member,
            today=request.today,
            **form.correction(request.today),
        ),
        done=lambda changed: f"Corrected. It now says: {words_of(changed)}.",
    )


@member_required(Role.CREW)
def withdraw_fact(request: HouseholdRequest, kind: str, pk: int) -> HttpResponse:
    fact = _fact(request, kind, pk)
    record = _record_of(fact)
    if record is not None:
        return redirect("void_record", record.pk)
    require(request.member, kind_of(fact).role)
    raised = _raised_by(fact) if isinstance(fact, Event) else ""
    return form_page(
        request,
        WhyForm(request.POST or None),
        heading=f"Withdraw: {kind_of(fact).name}",
        intro=(
            f"{rig_of(fact)}: {words_of(fact)}. It stays on record but won't count. "
            f"{raised}"
        ),
        submit="Withdraw",
        back=_events_url(fact),
        save=lambda why: correcting.withdraw_fact(
            fact, by=request.member, today=request.today, why=why
        ),
        done="Withdrawn. It no longer counts.",
    )


def _fact(request: HouseholdRequest, kind: str, pk: int) -> Fact:
    if kind not in KINDS:
        raise Http404
    return get_fact(request, KINDS[kind].model, pk)


def _record_of(fact: Fact) -> ServiceRecord | None:
    if not isinstance(fact, Reading | Event):
        return None
    found: ServiceRecord | None = fact.records.filter(voided_at=None).first()
    return found


def _events_url(fact: Fact) -> str:
    return reverse("rig_events", args=[rig_of(fact).pk])


def _raised_by(event: Event) -> str:
    """What goes with it, in words."""
    items = ", ".join(item.title for item in following(event))
    if not items:
        return ""
    return (
        f"Its jobs go too: {items}. Checks already done stay, with a note that "
        "their cause was withdrawn."
    )


def _what_follows(event: Event) -> str:
    items = ", ".join(item.title for item in following(event))
    if items:
        return f"Saved. Next: {items}."
    return f"Saved. It adds no job to the plan as it was on {day_words(event.on)}."
