"""The three forms of work done, handled as one: filled, checked, saved."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.files.uploadedfile import UploadedFile

from maintenance.core.facts import After
from maintenance.core.triggers import parse_triggers
from maintenance.households.access import HouseholdRequest
from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome, PlanItem
from maintenance.plans.procedures import load_library
from maintenance.service_records.models import Attachment, ServiceRecord
from maintenance.service_records.proof import hold
from maintenance.service_records.services import WHEEL_OFF
from maintenance.vehicles.models import Rig
from maintenance.vehicles.readings import KEEP, RIGHT, doubt_about

from .forms import BaseLines, RecordForm, WheelsForm, lines_formset
from .services import record_work

LINES = 6


@dataclass
class WorkForms:
    """What the page of work done consists of."""

    rig: Rig
    record: RecordForm
    lines: BaseLines
    wheels: WheelsForm
    wheel_work: bool  # the wheels' part is shown open

    @property
    def held(self) -> list[Attachment]:
        """Files that came with an earlier try of this form."""
        token = self.record["form_token"].value()
        rows = Attachment.objects.filter(rig=self.rig, record=None)
        return list(rows.filter(form_token=token)) if self.record.is_bound else []

    def is_valid(self) -> bool:
        """Every part is checked, so that all problems show at once."""
        parts = [p.is_valid() for p in (self.record, self.lines, self.wheels)]
        return all(parts)


def work_forms(request: HouseholdRequest, rig: Rig, member: Member) -> WorkForms:
    items = PlanItem.objects.active().filter(rig=rig).order_by("title")
    chosen = items.filter(pk=pk).first() if (pk := _chosen(request)) else None
    data, files = request.POST or None, request.FILES or None
    meters = list(rig.meters.all())
    start = {"on": request.today, "done_by": "member", "doer": member.name}
    first = [{"item": chosen, "outcome": _usual_outcome(chosen)}] if chosen else []
    formset = lines_formset(LINES - len(first))
    wheels = WheelsForm(data, prefix="wheels", rig=rig)
    return WorkForms(
        rig=rig,
        record=RecordForm(data, files, rig=rig, meters=meters, initial=start),
        lines=formset(
            data, prefix="lines", initial=first, form_kwargs={"items": items}
        ),
        wheels=wheels,
        wheel_work=bool(data and wheels.has_changed()) or touches_wheels(chosen),
    )


def _chosen(request: HouseholdRequest) -> str:
    pk = request.GET.get("item", "")
    return pk if pk.isdigit() else ""


def touches_wheels(item: PlanItem | None) -> bool:
    """True for work that takes wheels off and for the checks that follow it."""
    if item is None:
        return False
    procedure = load_library().procedures.get(item.key)
    takes_off = procedure is not None and WHEEL_OFF in procedure.raises
    return takes_off or _follows_wheel_off(item)


def _follows_wheel_off(item: PlanItem) -> bool:
    return any(
        isinstance(rule, After) and rule.event == WHEEL_OFF
        for rule in parse_triggers(item.triggers, item.key)
    )


def _usual_outcome(item: PlanItem) -> str:
    return Outcome.HELD if _follows_wheel_off(item) else Outcome.DONE


def save_work(forms: WorkForms, *, by: Member, today: date) -> ServiceRecord | None:
    """The record, or None after every problem was put where it belongs.

    Files are held first, so that a problem elsewhere in the form does not lose them.
    """
    valid = forms.is_valid()
    held = _hold_files(forms, by)
    if not (valid and held and _readings_fit(forms, today)):
        return None
    try:
        return record_work(
            forms.rig,
            by=by,
            today=today,
            form_token=forms.record.cleaned_data["form_token"],
            lines=forms.lines.lines(),
            wheels=forms.wheels.wheels(),
            values=forms.record.values(),
            confirmed=forms.record.cleaned_data["doubt"] == RIGHT,
            **forms.record.columns(),
        )
    except Refused as refusal:
        _show_refusal(forms, refusal)
        return None


def _hold_files(forms: WorkForms, by: Member) -> bool:
    """False when a file was refused; the others are held all the same."""
    data: dict[str, Any] = forms.record.cleaned_data
    files: list[UploadedFile] = data.get("uploads") or []
    good = True
    for upload in files if data.get("form_token") else []:
        try:
            hold(forms.rig, by=by, form_token=data["form_token"], upload=upload)
        except Refused as refusal:
            forms.record.add_error("uploads", refusal.text)
            good = False
    return good


def _readings_fit(forms: WorkForms, today: date) -> bool:
    """False after asking about a reading that does not fit the others."""
    form = forms.record
    data = form.cleaned_data
    if data["until"] or data["on"] > today or data["doubt"] in {RIGHT, KEEP}:
        return True
    for meter in form.meters:
        value = data[f"meter_{meter.kind}"]
        doubt = value is not None and doubt_about(meter, on=data["on"], value=value)
        if doubt:
            form.ask([pair for pair in doubt.choices if pair[0] in {RIGHT, KEEP}])
            form.add_error(f"meter_{meter.kind}", doubt.text)
            return False
    return True


def _show_refusal(forms: WorkForms, refusal: Refused) -> None:
    if refusal.field in forms.wheels.fields:
        forms.wheels.add_error(refusal.field, refusal.text)
        forms.wheel_work = True
    elif refusal.field in forms.record.fields:
        forms.record.add_error(refusal.field, refusal.text)
    else:
        forms.record.add_error(None, refusal.text)
