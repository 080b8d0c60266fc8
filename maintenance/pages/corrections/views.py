"""Amending a record, undoing a fresh one, and verifying a rig's chain."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.forms import Form
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.households.stale_forms import FIELD, lock, seen_in, show_overtaken
from maintenance.service_records import amending, services
from maintenance.service_records.access import get_record
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.proof import hold
from maintenance.service_records.saying import tell_what_follows
from maintenance.vehicles.access import get_rig

from ..forms import BaseLines
from .forms import AmendForm, FiguresForm, amend_lines, amended_from


@dataclass(frozen=True)
class Correction:
    """The three forms of a record, handled as one."""

    record: ServiceRecord
    form: AmendForm
    lines: BaseLines
    figures: FiguresForm

    @property
    def parts(self) -> list[Form]:
        return [self.form, self.figures, *self.lines.forms]

    def is_valid(self) -> bool:
        checked = [self.form.is_valid(), self.lines.is_valid(), self.figures.is_valid()]
        return all(checked)


def _correction(
    record: ServiceRecord, data: QueryDict | None = None, files: Any = None
) -> Correction:
    return Correction(
        record,
        AmendForm(data, files, record=record),
        amend_lines(record, data),
        FiguresForm(data, prefix="figures", record=record),
    )


@member_required(Role.CREW)
def amend_record(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_record(request, pk)
    typed = _correction(found, request.POST or None, request.FILES or None)
    if request.method == "POST" and _kept(request, typed):
        messages.success(request, "Corrected. The old version is below.")
        return redirect("record", found.pk)
    now = _correction(get_record(request, pk)) if request.method == "POST" else typed
    context = {
        "record": found,
        "form": typed.form,
        "lines": typed.lines,
        "figures": typed.figures,
        "form_seen": seen_in(*now.parts),
    }
    return render(request, "pages/amend_record.html", context)


@transaction.atomic
def _kept(request: HouseholdRequest, typed: Correction) -> bool:
    """False after every problem was put where it belongs."""
    lock(typed.record)
    now = _correction(get_record(request, typed.record.pk))
    seen = request.POST.get(FIELD)
    if show_overtaken(typed.parts, now.parts, seen) or not typed.is_valid():
        return False
    return _amend(request, typed.record, typed.form, typed.lines, typed.figures)


def _amend(
    request: HouseholdRequest,
    record: ServiceRecord,
    form: AmendForm,
    lines: BaseLines,
    figures: FiguresForm,
) -> bool:
    # Both are asked at once.
    if not all([form.figures_fit(request.today), form.wheels_answered(lines.lines())]):
        return False
    token, by = record.form_token, request.member
    try:
        for upload in form.cleaned_data["uploads"]:
            hold(record.rig, by=by, form_token=token, upload=upload)
        follows = amending.amend_record(
            record,
            by=by,
            today=request.today,
            why=form.cleaned_data["why"],
            to=amended_from(record, form, lines, figures),
        )
    except Refused as refusal:
        form.add_error(
            refusal.field if refusal.field in form.fields else None, refusal.text
        )
        return False
    tell_what_follows(request, record.rig, follows)
    return True


@require_POST
@member_required(Role.CREW)
def undo_record(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_record(request, pk)
    rig = found.rig
    try:
        follows = services.undo_record(
            found, by=request.member, now=timezone.now(), today=request.today
        )
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("record", pk)
    messages.success(
        request, "Undone. The record is gone, and so is everything it added."
    )
    tell_what_follows(request, rig, follows)
    return redirect("rig", rig.pk)


@member_required()
def rig_chain(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The chain held against records and files now, and against a printed head."""
    rig = get_rig(request, pk)
    printed = request.GET.get("head", "").strip()
    result = verify(rig, printed=printed)
    context = {"rig": rig, "result": result, "printed": printed}
    return render(request, "pages/rig_chain.html", context)
