"""Which rigs, meters, stays and trips a request may touch."""

from typing import Any
from uuid import UUID

from maintenance.households.access import HouseholdRequest, get_or_404

from .correcting import Fact
from .models import (
    Event,
    Manual,
    MeterReplacement,
    PageNote,
    Reading,
    Rig,
    RigPhoto,
    Run,
    ScaleTicket,
    Spot,
    Stay,
    Trip,
)


def get_rig(request: HouseholdRequest, pk: int) -> Rig:
    household = request.member.household
    return get_or_404(
        Rig.objects.for_household(household).select_related("household", "photo"),
        pk=pk,
    )


def get_fact(request: HouseholdRequest, model: type[Fact], pk: int) -> Fact:
    """One that was not withdrawn."""
    of_meter = model in (Reading, MeterReplacement, Run)
    way = "meter__rig" if of_meter else "rig"
    rows: Any = model._default_manager.filter(
        **{f"{way}__household": request.member.household}, withdrawn=False
    )
    found: Fact = get_or_404(rows.select_related(f"{way}__household"), pk=pk)
    return found


def get_reading(request: HouseholdRequest, pk: int) -> Reading:
    rows = Reading.objects.filter(meter__rig__household=request.member.household)
    return get_or_404(rows.select_related("meter__rig__household"), pk=pk)


def get_event(request: HouseholdRequest, pk: int) -> Event:
    rows = Event.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig__household"), pk=pk)


def get_stay(request: HouseholdRequest, pk: int) -> Stay:
    rows = Stay.objects.filter(rig__household=request.member.household, withdrawn=False)
    return get_or_404(rows.select_related("rig__household"), pk=pk)


def get_trip(request: HouseholdRequest, pk: int) -> Trip:
    rows = Trip.objects.filter(rig__household=request.member.household, withdrawn=False)
    rows = rows.select_related(
        "rig__household",
        "tow_vehicle__household",
        "towed_car__household",
        "start_reading",
        "end_reading",
    )
    return get_or_404(rows, pk=pk)


def get_ticket(request: HouseholdRequest, pk: int) -> ScaleTicket:
    rows = ScaleTicket.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig__household", "trailer"), pk=pk)


def get_manual(request: HouseholdRequest, key: UUID) -> Manual:
    rows = Manual.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig__household"), key=key)


def get_note(request: HouseholdRequest, pk: int) -> PageNote:
    rows = PageNote.objects.filter(manual__rig__household=request.member.household)
    return get_or_404(rows.select_related("manual__rig"), pk=pk)


def get_spot_photo(request: HouseholdRequest, key: UUID) -> Spot:
    rows = Spot.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.exclude(photo=""), key=key)


def get_rig_photo(request: HouseholdRequest, key: UUID) -> RigPhoto:
    rows = RigPhoto.objects.filter(rig__household=request.member.household)
    return get_or_404(rows.select_related("rig"), key=key)
