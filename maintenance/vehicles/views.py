"""Rigs and what is told of them: readings, stays, trips, severe duty."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page
from maintenance.households.models import Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from . import hubs, not_towed, parked, rig_photos, services
from .access import get_reading, get_rig, get_stay
from .correcting import withdraw_fact
from .forms import (
    HubForm,
    LeftForm,
    MeterForm,
    NewRigForm,
    NotTowedForm,
    ReadingForm,
    ReplacementForm,
    RigForm,
    SellForm,
    SevereDutyForm,
    StayForm,
)
from .models import Rig, Stay
from .queries import rigs_of
from .readings import record_reading_from_form
from .state import state_of
from .vin import vin_remarks


def _rig_url(rig: Rig) -> str:
    return reverse("rig", args=[rig.pk])


def _bound(service, request: HouseholdRequest, *args):
    """A service with its first arguments, the member and the day put in."""
    return partial(service, *args, by=request.member, today=request.today)


@member_required(Role.KEEPER)
def add_rig(request: HouseholdRequest) -> HttpResponse:
    unit = request.member.household.distance_unit
    initial = {"distance_unit": unit, "kind": request.GET.get("kind", "")}
    form = NewRigForm(request.POST or None, request.FILES or None, initial=initial)

    def add(upload: UploadedFile | None, **_data: Any) -> Rig:
        rig = services.add_rig(
            request.member, today=request.today, meters=form.meters(), **form.rig()
        )
        return _photographed(request, rig, upload)

    return form_page(
        request,
        form,
        heading="Add a rig",
        submit="Next: equipment",
        back=reverse("rigs"),
        save=add,
        done="Saved. Next: choose its equipment.",
        go_on=lambda rig: reverse("rig_equipment", args=[rig.pk]),
    )


@member_required(Role.KEEPER)
def change_rig(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    typed = (request.POST or None, request.FILES or None)

    def change(
        upload: UploadedFile | None, *, drop_photo: bool = False, **data: Any
    ) -> Rig:
        services.change_rig(rig, by=request.member, today=request.today, **data)
        if drop_photo and upload is None:
            rig_photos.drop_photo(rig, by=request.member)
        return _photographed(request, rig, upload)

    return form_page(
        request,
        RigForm(*typed, instance=get_rig(request, pk)),
        changes=rig,
        now=lambda: RigForm(instance=get_rig(request, pk)),
        heading=f"Change {rig}",
        back=_rig_url(rig),
        save=change,
    )


def _photographed(
    request: HouseholdRequest, rig: Rig, upload: UploadedFile | None
) -> Rig:
    if upload is not None:
        rig_photos.keep_photo(
            rig, by=request.member, today=request.today, upload=upload
        )
    return _remark_on_vin(request, rig)


def _remark_on_vin(request: HouseholdRequest, rig: Rig) -> Rig:
    """Beside “Saved.”, since a number that fails its check is kept all the same."""
    for remark in vin_remarks(rig.vin, rig.year):
        messages.warning(request, remark)
    return rig


@member_required(Role.KEEPER)
def sell_rig(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return form_page(
        request,
        SellForm(request.POST or None, initial={"on": request.today}),
        heading=f"Sell {rig}",
        intro="It leaves Due, and reminders stop. Its history stays.",
        back=_rig_url(rig),
        save=_bound(services.sell_rig, request, rig),
    )


@require_POST
@member_required(Role.KEEPER)
def take_back(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    services.take_back(rig, by=request.member, today=request.today)
    messages.success(request, "{rig} is yours again, and its plan counts again.")
    return redirect(_rig_url(rig))


@member_required(Role.CREW)
def give_reading(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    initial = {"on": request.today, **request.GET.dict()}
    form = ReadingForm(request.POST or None, rig=rig, initial=initial)
    return form_page(
        request,
        form,
        heading=f"New reading: {rig}",
        back=_rig_url(rig),
        save=_bound(record_reading_from_form, request, form),
        done=lambda given: f"Saved. {given.words}",
    )


@require_POST
@member_required(Role.CREW)
def settle_reading(request: HouseholdRequest, pk: int) -> HttpResponse:
    """A doubtful reading of the list: it is right, or it was wrong."""
    reading = get_reading(request, pk)
    is_right = request.POST.get("as") == "right"
    record = reading.records.filter(voided_at=None).first()
    if not is_right and record is not None:
        messages.info(request, "It came with this record of work: correct it here.")
        return redirect("amend_record", record.pk)
    by, today = request.member, request.today
    try:
        if is_right:
            services.confirm_reading(reading, by=by, today=today)
        else:
            withdraw_fact(reading, by=by, today=today, why="it was wrong")
        messages.success(request, "Saved. What's due was updated.")
    except Refused as refusal:
        messages.error(request, refusal.text)
    return redirect("rig", reading.meter.rig_id)


@member_required(Role.CREW)
def replace_meter(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    initial = {"on": request.today, "new_start": "0"}
    form = ReplacementForm(request.POST or None, rig=rig, initial=initial)
    return form_page(
        request,
        form,
        heading="Meter replaced or rolled over",
        back=_rig_url(rig),
        save=lambda **data: services.replace_meter(
            by=request.member, today=request.today, **data | form.meant(request.today)
        ),
        done="Saved. True mileage or hours continue from here.",
    )


@member_required(Role.KEEPER)
def add_meter(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return form_page(
        request,
        MeterForm(request.POST or None, rig=rig),
        heading=f"Add a meter to {rig}",
        intro="A generator or engine hour meter, or a hub meter.",
        back=_rig_url(rig),
        save=_bound(services.fit_meter, request, rig),
    )


@require_POST
@member_required(Role.KEEPER)
def confirm_hub_meter(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    services.confirm_hub_meter(rig, by=request.member, today=request.today)
    messages.success(request, "Saved. You won't be asked again.")
    return redirect("rig", pk)


@member_required(Role.KEEPER)
def fit_hub_meter(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    form = HubForm(request.POST or None, rig=rig, initial={"on": request.today})
    return form_page(
        request,
        form,
        heading=f"Add a hub meter: {rig}",
        intro="From that day, its readings count instead of its trips.",
        back=_rig_url(rig),
        save=_bound(hubs.fit_hub, request, rig),
    )


@member_required(Role.CREW)
def say_not_towed(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The answer to whether a rig that trips alone tell of was towed."""
    rig = get_rig(request, pk)
    since = not_towed.towed_since(rig)
    return form_page(
        request,
        NotTowedForm(request.POST or None, initial={"since": since}),
        heading=f"Not towed: {rig}",
        intro="Jobs by distance then count from today. Due jobs stay due.",
        back=_rig_url(rig),
        save=_bound(not_towed.say_not_towed, request, rig),
        done=lambda said: f"Saved. {rig}: {not_towed.not_towed_words(said)}.",
    )


@require_POST
@member_required(Role.KEEPER)
def no_hub_meter(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    try:
        hubs.remove_hub(rig, by=request.member, today=request.today)
    except Refused as refusal:
        messages.error(request, refusal.text)
    else:
        messages.success(request, "Saved. Its readings count as miles towed now.")
    return redirect("rig", pk)


@member_required(Role.KEEPER)
def severe_duty(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return form_page(
        request,
        SevereDutyForm(request.POST or None, initial={"start": request.today}),
        heading=f"Severe duty: {rig}",
        intro="While it lasts, jobs come due at their shorter intervals.",
        back=_rig_url(rig),
        save=_bound(services.set_severe_duty, request, rig),
    )


@require_POST
@member_required(Role.CREW)
def park_rig(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The answer to whether a quiet rig is parked."""
    rig = get_rig(request, pk)
    if request.POST.get("parked") == "no":
        parked.say_in_use(rig, by=request.member, today=request.today)
        messages.success(request, "Saved. You won't be asked for a month.")
        return redirect("due")
    try:
        stay = parked.park(rig, by=request.member, today=request.today)
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("due")
    messages.success(request, f"{rig} is in storage since {day_words(stay.start)}.")
    return redirect("stay", stay.pk)


@require_POST
@member_required(Role.CREW)
def left_storage(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The answer to when a rig left, though something else had begun since."""
    stay = get_stay(request, pk)
    form = LeftForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Enter the day it left storage.")
    else:
        try:
            services.say_left(
                stay, by=request.member, today=request.today, **form.cleaned_data
            )
            messages.success(request, f"Saved. {stay.rig} left storage.")
        except Refused as refusal:
            messages.error(request, refusal.text)
    return redirect("due")


@member_required()
def storage(request: HouseholdRequest) -> HttpResponse:
    """Each rig with its open, planned and past stays."""
    rigs = rigs_of(request.member.household).prefetch_related(
        "trips",
        "tows",
        "towed_on",
        Prefetch(
            "stays", queryset=Stay.objects.filter(withdrawn=False).order_by("-start")
        ),
    )
    rows = [(rig, _current_stay(rig, request.today)) for rig in rigs]
    stored = [row for row in rows if row[1]]
    context = {"rows": rows, "stored": stored, "today": request.today}
    return render(request, "vehicles/storage.html", context)


def _current_stay(rig: Rig, today) -> Stay | None:
    return state_of(rig, today).stay


@member_required(Role.CREW)
def start_stay(request: HouseholdRequest, pk: int) -> HttpResponse:
    rig = get_rig(request, pk)
    return form_page(
        request,
        StayForm(request.POST or None, initial={"start": request.today}, rig=rig),
        heading=f"Put {rig} into storage",
        back=reverse("storage"),
        save=_bound(services.start_stay, request, rig),
        done="Saved. Storage jobs are listed below, and on Due when they come up.",
        go_on=lambda stay: reverse("stay", args=[stay.pk]),
        template="vehicles/stay_form.html",
        others=_others(rig),
    )


def _others(rig: Rig, but: int = 0) -> dict[str, Any]:
    """What may stand in the way, with the page on which it can be changed."""
    return {
        "stays": rig.stays.filter(ended_on=None, withdrawn=False).exclude(pk=but),
        "trips": rig.trips.filter(withdrawn=False).order_by("-start")[:6],
    }


@member_required(Role.CREW)
def change_stay(request: HouseholdRequest, pk: int) -> HttpResponse:
    stay = get_stay(request, pk)
    return form_page(
        request,
        StayForm(request.POST or None, instance=get_stay(request, pk), rig=stay.rig),
        changes=stay,
        now=lambda: StayForm(instance=get_stay(request, pk), rig=stay.rig),
        heading=f"Storage of {stay.rig}",
        back=reverse("stay", args=[pk]),
        save=_bound(services.change_stay, request, stay),
        template="vehicles/stay_form.html",
        others=_others(stay.rig, pk),
    )
