"""The three forms of work done, handled as one: filled, checked, saved."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from typing import Any

from django import forms as django_forms
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import prefetch_related_objects
from django.forms.utils import ErrorDict
from django.http import QueryDict
from django.utils import timezone

from maintenance.households.access import HouseholdRequest
from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome, PlanItem
from maintenance.plans.queries import maker_of, procedure_of
from maintenance.service_records.follow_words import FollowLine, lines_of
from maintenance.service_records.following import WhatFollows
from maintenance.service_records.models import Attachment, ServiceRecord, UnfiledPhoto
from maintenance.service_records.proof import hold
from maintenance.service_records.same_work import merge_records
from maintenance.service_records.services import Recorded, record_work
from maintenance.service_records.torque import Wheels
from maintenance.service_records.unfiled_photos import is_key, unfiled
from maintenance.service_records.wheels_told import wheel_work_in
from maintenance.service_records.work import (
    WHEEL_OFF,
    Line,
    WorkDone,
    checks_wheels,
)
from maintenance.ui.forms import LONGEST_ID
from maintenance.vehicles.gate import Figure
from maintenance.vehicles.gate_forms import (
    confirmed_in,
    echoes_of,
    questionable_in,
    values_of,
)
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import meters_asked
from maintenance.vehicles.road import tow_meter_on
from maintenance.work_sheets.forms.measuring import MeasuresForm
from maintenance.work_sheets.lugs import FigureOrigin, TorqueUnit, makers_torque

from .asking_same import answer_of, ask_same, logged_already
from .carried import (
    Carried,
    carried_from,
    start_of_wheels,
    uses_on,
)
from .days import Days, days_of, with_day
from .forms import (
    BaseLines,
    LineForm,
    RecordForm,
    SuppliesForm,
    WheelsForm,
    lines_formset,
)
from .invoice_forms import BaseParts, WarrantyForm, parts_formset, with_sums
from .job_search import JobChoice, find_jobs, likely_jobs
from .prefilled import prefilled_lines, prefilled_start, prefilled_wheels

LINES = 6
JOB, FIND = "job", "find"  # what “more” asks for beside rows
QUIET = "quiet"  # a preview in a hurry: what is missing is not said
PARTS = 4
MORE = 4  # rows that “add more” adds


@dataclass
class WorkForms:
    """What the page of work done consists of."""

    rig: Rig
    record: RecordForm
    lines: BaseLines
    wheels: WheelsForm
    wheel_work: bool  # the wheels' part is shown open
    supplies: SuppliesForm
    parts: BaseParts
    warranty: WarrantyForm
    snaps: list[UnfiledPhoto]
    carried: Carried | None = None  # from the work sheet of the item chosen
    measures: MeasuresForm | None = None
    # Asked of only where the page is shown: to choose the first from, and by what was
    # typed.
    jobs: Callable[[], list[JobChoice]] = list
    found: Callable[[], list[JobChoice]] = list
    titles: list[str] = field(default_factory=list)  # of all jobs, for the further ones
    days: Days | None = None
    figures: dict[str, Figure] = field(default_factory=dict)  # once the gate was passed
    follows: list[FollowLine] | None = None  # once they were asked for

    @property
    def echoes(self) -> list[str]:
        return echoes_of(self.figures)

    @property
    def held(self) -> list[Attachment]:
        """Files that came with an earlier try of this form."""
        token = self.record["form_token"].value()
        rows = Attachment.objects.filter(rig=self.rig, record=None)
        return list(rows.filter(form_token=token)) if self.record.is_bound else []

    def is_valid(self) -> bool:
        """Every part is checked, so that all problems show at once."""
        sets = (self.record, self.lines, self.parts)
        found = [part.is_valid() for part in sets]
        return all([*found, *[part.is_valid() for part in self.also]])

    @property
    def also(self) -> list[django_forms.Form]:
        """The parts beside the record and its lines."""
        parts = (self.measures, self.wheels, self.supplies, self.warranty)
        return [part for part in parts if part is not None]

    @property
    def more_jobs(self) -> bool:
        """Whether a job beyond the first was begun."""
        return self.lines.is_bound and any(
            x.has_changed() for x in self.lines.forms[1:]
        )

    @property
    def wheels_off_asked(self) -> bool:
        """The job takes wheels off, which is a shop's work."""
        item = self.carried.item if self.carried else None
        return item is not None and takes_wheels_off(item)

    @property
    def first_line(self) -> LineForm:
        """An empty one where the post was no form of ours."""
        return next(iter(self.lines.forms), self.lines.empty_form)

    @property
    def job(self) -> str:
        """The id of the job chosen first, as the page compares it; empty for none."""
        value = self.first_line["item"].value()
        return str(getattr(value, "pk", value) or "")

    @property
    def outside(self) -> str:
        return self.carried.outside if self.carried else ""


def work_forms(request: HouseholdRequest, rig: Rig, member: Member) -> WorkForms:
    prefetch_related_objects([rig], "meters")
    items = rig.plan_items.active().select_related("maker").order_by("title")
    number = _chosen(request)
    chosen = next((item for item in items if str(item.pk) == number), None)
    carried = carried_from(chosen, timezone.now()) if chosen else None
    data, files = _posted(request) or None, request.FILES or None
    off = prefilled_wheels(request, rig)
    wheels_start = _start_of_wheels(carried, off, request.today)
    if data and carried and request.POST.get("more") == JOB:
        data = _with_job(data, carried, wheels_start)
    first = [_first_line(carried)] if carried else prefilled_lines(request)
    record = _record_form(request, rig, member, carried, data, files)
    wheels = WheelsForm(data, prefix="wheels", rig=rig, initial=wheels_start)
    wheels.checks = chosen is not None and checks_wheels(chosen)
    lines = lines_formset(LINES - len(first))(
        data,
        prefix="lines",
        initial=first,
        form_kwargs={"items": items, "by_title": True},
    )
    return WorkForms(
        rig=rig,
        record=record,
        lines=lines,
        wheels=wheels,
        wheel_work=bool(off or (data and wheels.has_changed()))
        or touches_wheels(chosen),
        supplies=SuppliesForm(
            data, prefix="supplies", uses=uses_on(rig), chosen=chosen
        ),
        parts=parts_formset(PARTS)(data, prefix="used"),
        warranty=WarrantyForm(data, meters=list(rig.meters.all())),
        snaps=_snaps(request),
        carried=carried,
        measures=carried.measures_form(data) if carried else None,
        jobs=partial(_jobs_offered, rig, chosen, request.today),
        found=partial(_found, request, rig),
        titles=[item.title for item in items],
        days=days_of(record["on"].value(), request.today),
    )


def _jobs_offered(rig: Rig, chosen: PlanItem | None, today: date) -> list[JobChoice]:
    """The likely ones, and the one that the page was opened for."""
    jobs = list(likely_jobs(rig, today))
    if chosen and chosen not in [one.item for one in jobs]:
        return [JobChoice(chosen), *jobs]
    return jobs


def _record_form(  # noqa: PLR0917  what the form is made of
    request: HouseholdRequest,
    rig: Rig,
    member: Member,
    carried: Carried | None,
    data: Any,
    files: Any,
) -> RecordForm:
    start = {"on": request.today, "done_by": "member", "doer": member.name}
    if carried and takes_wheels_off(carried.item):
        start |= {"done_by": "shop", "doer": ""}
    start |= prefilled_start(request, list(rig.meters.all()))
    start |= {"notes": carried.kept.get("note", "")} if carried else {}
    form = RecordForm(
        data,
        files,
        rig=rig,
        meters=meters_asked(rig),
        tow=tow_meter_on(rig, request.today),
        initial=start,
    )
    form.check_at(request.get_full_path())
    return form


def _found(request: HouseholdRequest, rig: Rig) -> list[JobChoice]:
    if request.POST.get("more") != FIND:
        return []
    return find_jobs(rig, request.POST.get("lines-0-title", ""))


def _posted(request: HouseholdRequest) -> QueryDict:
    """The post, with the day that “Today” means and with the rows it asked for."""
    data = with_day(_with_more_rows(request.POST), request.today)
    if data.get("preview") == QUIET and not data.get("doer"):
        data = data.copy()
        data["doer"] = "-"  # what follows is the same, whoever did it
    return data


def _start_of_wheels(
    carried: Carried | None, off: Iterable[str], today: date
) -> dict[str, Any]:
    start = start_of_wheels(carried, today) if carried else {}
    start |= {f"off_{place}": True for place in off}
    return {"unit": TorqueUnit.FOOT_POUNDS} | start


def _with_job(data: QueryDict, carried: Carried, wheels: dict[str, Any]) -> QueryDict:
    """The post after another job was chosen: what that brings, where nothing was typed
    yet."""
    data = data.copy()
    line = _first_line(carried)
    for name in ("outcome", "note"):
        data[f"lines-0-{name}"] = line.get(name, "")
    brought = {f"wheels-{name}": value for name, value in wheels.items()}
    brought |= {f"measured-{name}": value for name, value in carried.kept.items()}
    for use in uses_on(carried.item.rig):
        if use.item_id == carried.item.pk:
            brought[f"supplies-take_{use.supply_id}"] = use.amount
    for name, value in brought.items():
        if not data.get(name):
            text = "on" if value is True else getattr(value, "pk", value)
            data[name] = "" if text is None else str(text)
    if takes_wheels_off(carried.item) and data.get("done_by") == "member":
        data["done_by"], data["doer"] = "shop", ""
    return data


def _snaps(request: HouseholdRequest) -> list[UnfiledPhoto]:
    """Photos that waited to be filed and come along with this form, by their keys."""
    given = request.POST if request.method == "POST" else request.GET
    keys = [text for text in given.getlist("snap") if is_key(text)]
    return list(unfiled(request.member.household).filter(key__in=keys)) if keys else []


def _with_more_rows(data: QueryDict) -> QueryDict:
    """The post, with more rows where it asked for them instead of being saved."""
    name = f"{data.get('more')}-TOTAL_FORMS"
    rows = str(data.get(name, ""))
    if rows.isdecimal() and len(rows) < 4:
        data = data.copy()
        data[name] = str(int(rows) + MORE)
    return data


def show_more_rows(forms: WorkForms, *, by: Member) -> None:
    """The form as it was typed so far. It was not sent off yet, so nothing is wrong
    with it but a file that cannot be taken; files that can are held."""
    forms.is_valid()
    refused = not _hold_files(forms, by)
    errors = forms.record.errors.get("uploads") if refused else None
    parts: list[django_forms.Form] = [forms.record, *forms.also]
    for part in (*parts, *forms.lines, *forms.parts):
        part._errors = ErrorDict()
    if errors:
        forms.record.errors["uploads"] = errors


def _first_line(carried: Carried) -> dict[str, Any]:
    """A value outside its limit is a fault until somebody says otherwise."""
    if carried.outside:
        note = carried.outside[:300]
        return {"item": carried.item, "outcome": Outcome.FAULT_FOUND, "note": note}
    outcome = Outcome.MOVED if carried.moved else _usual_outcome(carried.item)
    return {"item": carried.item, "outcome": outcome}


def _chosen(request: HouseholdRequest) -> str:
    """The job that the form is shown for: the one just chosen, the one that it was
    shown for before, or the one that the address names."""
    pk = request.POST.get("for", request.GET.get("item", ""))
    if request.POST.get("more") == JOB:
        pk = request.POST.get("lines-0-item", "")
    return pk if pk.isdecimal() and len(pk) <= LONGEST_ID else ""


def touches_wheels(item: PlanItem | None) -> bool:
    """True for work that takes wheels off and for the checks that follow it."""
    if item is None:
        return False
    return takes_wheels_off(item) or checks_wheels(item)


def takes_wheels_off(item: PlanItem) -> bool:
    procedure = procedure_of(item)
    return procedure is not None and WHEEL_OFF in procedure.raises


def _usual_outcome(item: PlanItem) -> str:
    return Outcome.HELD if checks_wheels(item) else Outcome.DONE


def save_work(forms: WorkForms, *, by: Member, today: date) -> Recorded | None:
    """The record and what follows, or None after every problem was put where it
    belongs.

    Files are held first, so that a problem elsewhere in the form does not lose them.
    """
    same_as = _ready(forms, by, today)
    if same_as is None:
        return None
    if same_as.leave:
        return Recorded(same_as.records[0], WhatFollows(), new=False)
    try:
        return _record(forms, by, today, next(iter(same_as.records), None))
    except Refused as refusal:
        _show_refusal(forms, refusal)
        return None


class _DryRun(Exception):
    """Undoes what a dry run wrote."""


def foresee_work(forms: WorkForms, *, by: Member, today: date) -> None:
    """What would follow, put into `forms.follows`: the work is recorded through the one
    door and taken back at once. What is wrong is said as when it is saved."""
    same_as = _ready(forms, by, today)
    if same_as is None or same_as.leave:
        return
    try:
        with transaction.atomic():
            recorded = _record(forms, by, today, next(iter(same_as.records), None))
            forms.follows = lines_of(forms.rig, recorded.follows)
            raise _DryRun
    except _DryRun:
        pass
    except Refused as refusal:
        _show_refusal(forms, refusal)


@dataclass(frozen=True)
class _SameAs:
    """The records of the same work that were there; `leave`: one of them is enough."""

    records: list[ServiceRecord]
    leave: bool = False


def _ready(forms: WorkForms, by: Member, today: date) -> _SameAs | None:
    """None after every problem was put where it belongs."""
    valid = forms.is_valid()
    held = _hold_files(forms, by)
    if not (valid and held):
        return None
    # Both are asked at once.
    if not all([_readings_fit(forms, today), _wheels_answered(forms)]):
        return None
    found = logged_already(forms.rig, forms.record, forms.lines)
    answer = answer_of(forms.record)
    chosen = answer.among(found)
    if found and not (chosen or answer.is_other):
        ask_same(forms.record, found)
        return None
    return _SameAs(list(chosen), leave=bool(chosen and answer.leave))


@transaction.atomic
def _record(
    forms: WorkForms, by: Member, today: date, same_as: ServiceRecord | None
) -> Recorded:
    """`same_as`: the record of the same work, of which this one is a part."""
    recorded = record_work(_work(forms), by=by, today=today)
    if same_as is not None and recorded.new:
        merge_records(recorded.record, into=same_as, by=by, today=today)
    return recorded


def _work(forms: WorkForms) -> WorkDone:
    data, parts = forms.record.cleaned_data, forms.parts.parts()
    return WorkDone(
        rig=forms.rig,
        **forms.record.columns(),
        lines=_lines(forms),
        values=forms.record.values() | values_of(forms.figures),
        values_confirmed=bool(confirmed_in(forms.figures)),
        values_questionable=questionable_in(forms.figures),
        wheels=_wheels(forms),
        supplies=forms.supplies.takes(),
        parts=parts,
        costs=with_sums(forms.record.costs(), parts),
        warranty=forms.warranty.warranty(),
        signed_off_by=forms.warranty.cleaned_data["signed_off_by"],
        credential=forms.warranty.cleaned_data["credential"],
        snaps=forms.snaps,
        form_token=data["form_token"],
    )


def _wheels(forms: WorkForms) -> Wheels:
    """With the maker's figure that is known of a job, unless one was typed."""
    wheels = forms.wheels.wheels()
    if wheels.makers_figure is not None or wheels.origin == FigureOrigin.MANUAL:
        return wheels
    for line in forms.lines.lines():
        maker = maker_of(line.item) if line.item else None
        if maker is not None and (found := makers_torque(maker)):
            figure, unit = found
            return replace(
                wheels,
                makers_figure=figure,
                makers_unit=unit,
                makers_source=str(maker),
            )
    return wheels


def _lines(forms: WorkForms) -> list[Line]:
    """With what was measured and ticked at the job that the form was opened for."""
    lines = forms.lines.lines()
    if forms.measures is None or forms.carried is None:
        return lines
    measured, steps = forms.measures.measured(), forms.carried.steps
    at = next((n for n, x in enumerate(lines) if x.item == forms.carried.item), None)
    if at is not None:
        lines[at] = replace(lines[at], measures=measured, steps=steps)
    elif measured:
        raise Refused(
            f"You measured values for “{forms.carried.item}”, which isn't among "
            "the jobs."
        )
    return lines


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
    """False after asking about each reading that does not fit the others."""
    form = forms.record
    try:
        forms.figures = form.as_meant(today, form.meters)
    except Refused as refusal:
        form.add_error(refusal.field, refusal.text)
        return False
    return True


def _wheels_answered(forms: WorkForms) -> bool:
    """False after asking which wheels were off."""
    notes = forms.record.cleaned_data["notes"]
    work = wheel_work_in(forms.rig, forms.lines.lines(), notes)
    answered = forms.wheels.answers(work)
    forms.wheel_work = forms.wheel_work or not answered
    return answered


def _show_refusal(forms: WorkForms, refusal: Refused) -> None:
    if refusal.field in forms.supplies.fields:
        forms.supplies.add_error(refusal.field, refusal.text)
    elif forms.measures is not None and refusal.field in forms.measures.fields:
        forms.measures.add_error(refusal.field, refusal.text)
    elif refusal.field in forms.warranty.fields:
        forms.warranty.add_error(refusal.field, refusal.text)
    elif refusal.field in forms.wheels.fields:
        forms.wheels.add_error(refusal.field, refusal.text)
        forms.wheel_work = True
    elif refusal.field in forms.record.fields:
        forms.record.add_error(refusal.field, refusal.text)
    else:
        forms.record.add_error(None, refusal.text)
