"""Two records of the same work made one, and taken apart again."""

from functools import partial
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import (
    HouseholdRequest,
    get_or_404,
    member_required,
)
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.service_records import same_work
from maintenance.service_records.access import get_record
from maintenance.service_records.models import Merge, ServiceRecord
from maintenance.ui.words import day_words

NEAREST = 20  # records that the choice offers


class _RecordField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        return f"{day_words(obj.on)}: {obj.summary}, {obj.doer}"


class SameWorkForm(forms.Form):
    into = _RecordField(
        label="It's the same work as",
        queryset=ServiceRecord.objects.none(),
    )

    def __init__(self, *args: Any, record: ServiceRecord, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = record.rig.records.filter(merged_into=None, voided_at=None)
        days = rows.exclude(pk=record.pk).values_list("pk", "on")
        others = sorted(days, key=lambda row: abs(row[1] - record.on))
        ids = [pk for pk, _on in others[:NEAREST]]
        self.fields["into"].queryset = rows.filter(pk__in=ids).prefetch_related("lines")  # type: ignore[attr-defined]


@member_required(Role.CREW)
def same_record(request: HouseholdRequest, pk: int) -> HttpResponse:
    found = get_record(request, pk)
    return form_page(
        request,
        SameWorkForm(request.POST or None, record=found),
        heading="Merge duplicate",
        intro=(
            "This record becomes part of the other one, with all its jobs and "
            "proof. Shared work counts once. You can separate them again."
        ),
        submit="Merge duplicate",
        back=reverse("record", args=[pk]),
        save=partial(
            same_work.merge_records, found, by=request.member, today=request.today
        ),
        done="Merged.",
    )


@require_POST
@member_required(Role.CREW)
def take_apart(request: HouseholdRequest, pk: int) -> HttpResponse:
    rows = Merge.objects.filter(record__rig__household=request.member.household)
    merge = get_or_404(rows.select_related("record__rig__household", "into"), pk=pk)
    try:
        same_work.take_apart(merge, by=request.member, today=request.today)
        messages.success(request, "Separated. These are two records again.")
    except Refused as refusal:
        messages.error(request, refusal.text)
    return redirect("record", merge.record_id)
