"""Amending a record, undoing a fresh one, and verifying a rig's chain."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.service_records import amending, services
from maintenance.service_records.access import get_record
from maintenance.service_records.chain.verifying import verify
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.proof import hold
from maintenance.service_records.saying import tell_what_follows
from maintenance.vehicles.access import get_rig

from ..forms import BaseLines
from .forms import AmendForm, FiguresForm, amend_lines, amended_from


@member_required(Role.CREW)
def amend_record(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_record(request, pk)
    data = request.POST or None
    form = AmendForm(data, request.FILES or None, record=found)
    lines = amend_lines(found, data)
    figures = FiguresForm(data, prefix="figures", record=found)
    if request.method == "POST" and _amend(request, found, form, lines, figures):
        messages.success(request, "Amended. What it said before stands below.")
        return redirect("record", found.pk)
    context = {"record": found, "form": form, "lines": lines, "figures": figures}
    return render(request, "pages/amend_record.html", context)


def _amend(
    request: HouseholdRequest,
    record: ServiceRecord,
    form: AmendForm,
    lines: BaseLines,
    figures: FiguresForm,
) -> bool:
    """False after every problem was put where it belongs."""
    if not all([form.is_valid(), lines.is_valid(), figures.is_valid()]):
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
            to=amended_from(record, form, lines, figures, request.today),
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
    messages.success(request, "Undone: the record is gone, with all that it gave.")
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
