"""Due, the rigs, a rig's page, and what is recorded about a rig."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from maintenance.core.facts import ODOMETER, TOW_ODOMETER, TOWED
from maintenance.core.timeline import RigTimeline
from maintenance.exchange.queries import rows_behind
from maintenance.households.access import (
    HouseholdRequest,
    member_required,
)
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.plans.event_words import event_words
from maintenance.plans.measures import in_words
from maintenance.plans.models import Outcome
from maintenance.plans.queries import household_is_stale, withdrawn_causes
from maintenance.plans.standings import renew_household
from maintenance.plans.use import AHEAD, timeline_of, uses_of, wheel_words
from maintenance.service_records import services as records
from maintenance.service_records.access import get_record, get_record_with_merged
from maintenance.service_records.chain.linking import may_be_undone
from maintenance.service_records.chain.story import amendments
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.queries import (
    findings_of_record,
    measured_on,
    steps_left_out,
)
from maintenance.service_records.saying import tell_what_follows
from maintenance.service_records.sums import sum_doubts
from maintenance.service_records.torque import differing_figures
from maintenance.service_records.warranty import drop_ended_warranties
from maintenance.ui.forms import WhyForm
from maintenance.vehicles.access import get_rig
from maintenance.vehicles.events import left_out
from maintenance.vehicles.models import Event, Rig
from maintenance.vehicles.not_towed import told_by_trips, towed_words
from maintenance.vehicles.queries import rigs_of
from maintenance.vehicles.state import stays_left_open

from .due.others import BY
from .due.page import due_page
from .invoice_forms import AMOUNTS
from .job_search import find_jobs
from .queries import rig_summaries, what_waits
from .record_folds import folds_of
from .record_form import (
    WorkForms,
    foresee_work,
    save_work,
    show_more_rows,
    work_forms,
)
from .rig_page import rig_page


def _renew_if_stale(request: HouseholdRequest) -> None:
    """The first look of a new day reckons; the nightly job may not have run."""
    household = request.member.household
    if household_is_stale(household, request.today):
        renew_household(household, as_of=request.today)
        drop_ended_warranties(household, today=request.today)


@member_required()
def due(request: HouseholdRequest) -> HttpResponse:
    _renew_if_stale(request)
    household = request.member.household
    page = due_page(household, request.today, request.GET.get("by", ""))
    context = {
        "due": page,
        "ways": BY,
        "today": request.today,
        "waiting": what_waits(household),
        "left_open": stays_left_open(page.stored, request.today),
    }
    return render(request, "pages/due.html", context)


# The kinds that are drawn, and what the empty page calls them.
FIRST_KINDS = (
    ("motorhome", "Add a motorhome"),
    ("campervan", "Add a campervan"),
    ("travel_trailer", "Add a travel trailer"),
    ("fifth_wheel", "Add a fifth wheel"),
    ("tow_vehicle", "Add a tow vehicle"),
    ("towed_car", "Add a towed car"),
)


@member_required()
def rigs(request: HouseholdRequest) -> HttpResponse:
    _renew_if_stale(request)
    household = request.member.household
    context = {
        "rows": rig_summaries(household, request.today),
        "kinds": FIRST_KINDS,
        "sold": Rig.objects.for_household(household).filter(sold_on__isnull=False),
    }
    return render(request, "pages/rigs.html", context)


@member_required()
def rig(request: HouseholdRequest, pk: int) -> HttpResponse:
    _renew_if_stale(request)
    page = rig_page(get_rig(request, pk), request.today)
    context = {"page": page, "rig": page.rig, "today": request.today}
    return render(request, "pages/rig.html", context)


@member_required()
def rig_use(request: HouseholdRequest, pk: int) -> HttpResponse:
    """How much the rig is used, and what is expected: charts with their numbers."""
    found = get_rig(request, pk)
    day = timeline_of(found, request.today)
    context = {
        "rig": found,
        "uses": uses_of(day),
        "towed": _towed(found, day),
        "wheels": wheel_words(day.tracks),
    }
    return render(request, "pages/rig_use.html", context)


@member_required()
def use_chart(request: HouseholdRequest, pk: int, kind: str) -> HttpResponse:
    """The drawing of one meter, fetched into the rig's page once that is there."""
    found = get_rig(request, pk)
    day = timeline_of(found, request.today)
    use = uses_of(day).get(kind)
    towed = _towed(found, day) if kind == TOWED else ""
    if use is None and not towed:
        raise Http404
    wheels = wheel_words(day.tracks) if kind == ODOMETER else ""
    # A year back and a year ahead: today stands in the middle.
    chart = use.chart.since(request.today - AHEAD) if use else None
    context = {"chart": chart, "towed": towed, "wheels": wheels}
    return render(request, "pages/_use_chart.html", context)


def _towed(rig: Rig, day: RigTimeline) -> str:
    """What its trips say, of a trailer without a meter that shows it."""
    is_told = rig.is_trailer and told_by_trips(rig)
    return towed_words(day) if is_told else ""


@member_required(Role.CREW)
def record_work(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_rig(request, pk)
    forms = work_forms(request, found, request.member)
    if "check" in request.POST:
        return _meter_said(request, forms)
    if "more" in request.POST:
        show_more_rows(forms, by=request.member)
    elif "preview" in request.POST:
        foresee_work(forms, by=request.member, today=request.today)
    elif request.method == "POST":
        recorded = save_work(forms, by=request.member, today=request.today)
        if recorded is not None:
            messages.success(request, _said_of(recorded.record, forms))
            tell_what_follows(request, found, recorded.follows)
            page = "saved" if recorded.new else "record"
            return redirect(page, recorded.record.pk)
    context = {
        "forms": forms,
        "folds": folds_of(forms),
        "rig": found,
        "rigs": list(rigs_of(request.member.household)),
    }
    return render(request, "pages/record_work.html", context)


def _meter_said(request: HouseholdRequest, forms: WorkForms) -> HttpResponse:
    """What is wrong with the figure that is just being typed."""
    name = request.POST["check"]
    if name not in forms.record.meters:
        raise Http404
    said = forms.record.said_of(name, request.today)
    return render(request, "pages/_meter_said.html", {"name": name, "said": said})


@member_required(Role.CREW)
def record_jobs(request: HouseholdRequest, pk: int) -> HttpResponse:
    """Jobs of the plan by what is typed, while it is typed."""
    found = get_rig(request, pk)
    typed = request.GET.get("lines-0-title", "")[:120]
    return render(request, "pages/_jobs_found.html", {"found": find_jobs(found, typed)})


def _said_of(record: ServiceRecord, forms: WorkForms) -> str:
    if record.form_token == forms.record.cleaned_data["form_token"]:
        faults = record.lines.filter(outcome=Outcome.FAULT_FOUND)
        words = "; ".join(line.note or line.title for line in faults)
        said = f"Recorded as Fault found: {words}." if words else "Recorded."
        return " ".join([said, *forms.echoes, *left_out([record])])
    return "Nothing new was recorded. This is the record you already had."


@member_required()
def record(request: HouseholdRequest, pk: int) -> HttpResponse:
    found, merged = get_record_with_merged(request, pk)
    names = {meter.kind: (str(meter), meter.unit) for meter in found.rig.meters.all()}
    names[TOW_ODOMETER] = ("Odometer of the tow vehicle", "")
    amounts = [(label, getattr(found, name)) for name, label in AMOUNTS.items()]
    context = {
        "record": found,
        "values": [
            (names[kind][0], Decimal(v), names[kind][1])
            for kind, v in found.values.items()
            if kind in names
        ],
        "measured": list(_measured(found)),
        "warranty": (
            (
                names[found.warranty_meter][0],
                found.warranty_value,
                names[found.warranty_meter][1],
            )
            if found.warranty_meter
            else None
        ),
        "merge": (
            found.merges.filter(undone_at=None).first()
            if found.merged_into_id
            else None
        ),
        "merged": merged,
        "doubts": list(sum_doubts(found)),
        "differing": differing_figures(getattr(found, "torque", None)),
        "amounts": [(label, value) for label, value in amounts if value is not None],
        "findings": findings_of_record(found).filter(withdrawn=False),
        "events": [(event_words(e.kind), e) for e in found.events.all()],
        "withdrawn_causes": list(_withdrawn_causes(found)),
        "amended": amendments(found.links.all()),
        "may_undo": may_be_undone(found, timezone.now()),
        "brought": rows_behind(found),
    }
    return render(request, "pages/record.html", context)


def _withdrawn_causes(found: ServiceRecord) -> Iterator[tuple[str, Event]]:
    """What a check followed that was withdrawn since: the check stays done."""
    works = [(line.item, found.on) for line in found.lines.all() if line.item]
    for event in withdrawn_causes(works).values():
        yield str(event_words(event.kind)), event


def _measured(found: ServiceRecord) -> Iterator[tuple[Any, ...]]:
    """Each line that measured or ticked something, in words."""
    for line in found.lines.all():
        words, left_out = in_words(measured_on(line)), steps_left_out(line)
        ticked = len(line.steps) - len(left_out)
        steps = f"{ticked} of {len(line.steps)} steps ticked."
        if words or line.steps:
            yield line, words, steps if line.steps else "", left_out


@member_required(Role.CREW)
def void_record(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_record(request, pk)
    url = reverse("record", args=[pk])

    def void(why: str) -> bool:
        follows = records.void_record(
            found, by=request.member, today=request.today, why=why
        )
        tell_what_follows(request, found.rig, follows)
        return True

    return form_page(
        request,
        WhyForm(request.POST or None),
        heading="Void this record",
        intro="It stays visible, marked void. Follow-up jobs it added are withdrawn.",
        submit="Void record",
        back=url,
        save=void,
        done="The record is void.",
    )
