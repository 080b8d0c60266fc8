"""Telling of a rig: set up, its plan, its meters, and what happened to it."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from maintenance.plans import services as plans
from maintenance.plans.models import PlanItem
from maintenance.plans.queries import proposals_for
from maintenance.vehicles import services as vehicles
from maintenance.vehicles import trips
from maintenance.vehicles.models import Meter
from maintenance.vehicles.rhythm import keep_visit, set_runways
from maintenance.vehicles.rig_photos import keep_photo

from .rows import columns
from .story import (
    DeferredStory,
    DroppedStory,
    DutyStory,
    EventStory,
    RigStory,
    StatedStory,
    StayStory,
    TripStory,
)
from .told import Told


def adopt(told: Told, rig: RigStory, today: date) -> None:
    """Set the rig up and take on its proposal, but for what is left out."""
    keeper, in_service = told.members["keeper"], told.on(rig.in_service)
    made = told.rigs[rig.key] = vehicles.add_rig(
        keeper,
        today=today,
        meters=[
            {"kind": kind, "unit": meter.unit, "today_value": None}
            for kind, meter in rig.meters.items()
        ],
        name=rig.name,
        kind=rig.kind,
        wheels=rig.wheels,
        dual_nuts=rig.dual_nuts,
        equipment=rig.equipment,
        in_service_on=in_service,
        make=rig.make,
        model=rig.model,
        year=in_service.year,
        notes=rig.notes,
    )
    if rig.photo:
        photo = SimpleUploadedFile(rig.photo, told.story.file(rig.photo))
        keep_photo(made, by=keeper, today=today, upload=photo)
    keys = [proposal.procedure.key for proposal in proposals_for(made)]
    plans.settle_plan(
        made,
        by=keeper,
        today=today,
        take=[key for key in keys if key not in rig.leave],
        leave=[key for key in keys if key in rig.leave],
        drop={},
        why=rig.why_left,
    )
    for item in PlanItem.objects.active().filter(rig=made):
        told.items[rig.key, item.key] = item


# --- the plan -------------------------------------------------------------------------


def give_life(told: Told, rig: RigStory, key: str, start: date, today: date) -> None:
    """The date on a part, from which its age counts."""
    _answer(told, rig, [key], plans.Answer("made", start=start.isoformat()), today)


def state(told: Told, rig: RigStory, row: StatedStory, today: date) -> None:
    _answer(told, rig, row.keys, plans.Answer("done", told.on(row.day)), today)


def _answer(
    told: Told, rig: RigStory, keys: list[str], answer: plans.Answer, today: date
) -> None:
    plans.state_baselines(
        told.rig(rig),
        by=told.members["keeper"],
        today=today,
        answers=[(told.item(rig, key), answer) for key in keys],
    )


def drop(told: Told, rig: RigStory, row: DroppedStory, today: date) -> None:
    for key in row.keys:
        item = told.items.pop((rig.key, key))
        plans.drop_item(item, by=told.members["keeper"], today=today, why=row.why)


def defer(told: Told, rig: RigStory, row: DeferredStory, today: date) -> None:
    item = told.item(rig, row.key)
    told.deferred[item] = today
    plans.defer(
        item,
        by=told.members["keeper"],
        today=today,
        until=told.on(row.until),
        why=row.why,
    )


# --- meters ---------------------------------------------------------------------------


def read(told: Told, rig: RigStory, kind: str, value: Decimal, today: date) -> None:
    vehicles.record_reading(
        _meter(told, rig, kind),
        by=told.members[rig.hand],
        today=today,
        on=today,
        value=Decimal(value),
    )


def refuel(
    told: Told, rig: RigStory, kind: str, figures: list[Decimal], today: date
) -> None:
    value, volume, price = map(Decimal, figures)
    vehicles.record_fuel_stop(
        _meter(told, rig, kind),
        by=told.members[rig.hand],
        today=today,
        on=today,
        value=value,
        volume=volume,
        unit="gal",
        price=price,
    )


def replace(
    told: Told, rig: RigStory, kind: str, figures: list[Decimal], today: date
) -> None:
    old_final, new_start = map(Decimal, figures)
    vehicles.replace_meter(
        _meter(told, rig, kind),
        by=told.members[rig.hand],
        today=today,
        on=today,
        old_final=old_final,
        new_start=new_start,
    )


def _meter(told: Told, rig: RigStory, kind: str) -> Meter:
    return told.rig(rig).meters.get(kind=kind)


def set_duty(told: Told, rig: RigStory, duty: DutyStory, today: date) -> None:
    vehicles.set_severe_duty(
        told.rig(rig),
        by=told.members["keeper"],
        today=today,
        start=told.on(duty.start),
        end=told.on(duty.end),
        why=duty.why,
    )


# --- stays, trips, what happened ------------------------------------------------------


def begin_stay(told: Told, rig: RigStory, stay: StayStory, today: date) -> None:
    until = stay.end if stay.planned is None else stay.planned
    vehicles.start_stay(
        told.rig(rig),
        by=told.members[rig.hand],
        today=today,
        start=told.on(stay.start),
        planned_until=None if until is None else told.on(until),
        place=stay.place,
        winterized=stay.winterized,
        notes=stay.notes,
        **columns(stay.way),
    )


def end_stay(told: Told, rig: RigStory, stay: StayStory, today: date) -> None:
    row = told.rig(rig).stays.get(start=told.on(stay.start))
    vehicles.end_stay(row, by=told.members[rig.hand], today=today, ended_on=today)


def visit(told: Told, rig: RigStory, stay: StayStory, n: int, today: date) -> None:
    keep_visit(
        told.rig(rig).stays.get(start=told.on(stay.start)),
        by=told.members[rig.hand],
        today=today,
        on=today,
        **columns(stay.visits[n].about),
    )


def run_down(told: Told, rig: RigStory, today: date) -> None:
    """What its runways rest on."""
    by = told.members[rig.hand]
    set_runways(told.rig(rig), by=by, today=today, **columns(rig.runways))


def travel(told: Told, rig: RigStory, trip: TripStory, today: date) -> None:
    trips.plan_trip(
        told.rig(rig),
        by=told.members[rig.hand],
        today=today,
        start=told.on(trip.start),
        end=told.on(trip.end),
        title=trip.title,
        distance=_exact(trip.distance),
        tow_vehicle=told.rigs[trip.towed_by] if trip.towed_by else None,
        hitched_at=_exact(trip.hitched),
        unhitched_at=_exact(trip.unhitched),
        towed_car=told.rigs[trip.tows] if trip.tows else None,
        **columns(trip.about),
    )


def _exact(figure: Decimal | int | None) -> Decimal | None:
    return None if figure is None else Decimal(figure)


def report(told: Told, rig: RigStory, event: EventStory, today: date) -> None:
    vehicles.report_event(
        told.rig(rig),
        by=told.members[rig.hand],
        today=today,
        kind=event.kind,
        on=today,
        values=decimals(event.at),
        note=event.note,
    )


def decimals(values: Mapping[str, Any]) -> dict[str, Decimal]:
    return {name: Decimal(value) for name, value in values.items()}
