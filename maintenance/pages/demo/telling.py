"""Telling the story to the services, day by day, as a household would have typed it.

So the demo holds nothing that the program would refuse.
"""

import uuid
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import partial
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db.models import Max, Model

from maintenance.core.dates import season_of
from maintenance.core.triggers import parse_triggers
from maintenance.households.models import ActivityEntry, Household, Member
from maintenance.households.services import add_member, found_household
from maintenance.plans import services as plans
from maintenance.plans.models import Completion, Deferral, PlanItem
from maintenance.plans.queries import proposals_for
from maintenance.plans.receivers import renewing_once
from maintenance.service_records.models import Attachment, ServiceRecord
from maintenance.service_records.proof import hold
from maintenance.service_records.services import Line, Wheels, log_service
from maintenance.vehicles import services as vehicles
from maintenance.vehicles.models import Event, Meter, Reading, Rig
from maintenance.walkrounds.models import Finding
from maintenance.walkrounds.services import (
    fix_finding,
    open_finding,
    open_findings_of,
)

from .story import (
    DeferredStory,
    DroppedStory,
    EventStory,
    FindingStory,
    MeterStory,
    RigStory,
    StatedStory,
    StayStory,
    Story,
    TripStory,
    WorkStory,
)

SEASON_EARLY = 30  # days before a season opens; the earliest that counts for it
EVENING = time(18, 30)


@dataclass
class Told:
    """What has been told so far, and to whom."""

    story: Story
    as_of: date
    household: Household
    members: Mapping[str, Member]
    rigs: dict[str, Rig] = field(default_factory=dict)
    items: dict[tuple[str, str], PlanItem] = field(default_factory=dict)
    findings: dict[str, Finding] = field(default_factory=dict)

    def on(self, day: int) -> date:
        return self.as_of + timedelta(days=day)

    def item(self, rig: RigStory, key: str) -> PlanItem:
        return self.items[rig.key, key]


@dataclass(frozen=True)
class Step:
    """What is told on a day; `order` puts the steps of one day in a row."""

    day: int
    order: int
    tell: Callable[[date], object]


def tell(story: Story, *, as_of: date, password: str) -> Household:
    """Found the household and tell its years up to `as_of`, in one transaction."""
    with renewing_once(as_of=as_of):
        told = _found(story, as_of, password)
        stamps = Stamps(told.household)
        steps = [step for rig in story.rigs for step in steps_of(told, rig)]
        for step in sorted(steps, key=lambda one: (one.day, one.order)):
            today = told.on(step.day)
            step.tell(today)
            stamps.bring_to(today)
    return told.household


def _found(story: Story, as_of: date, password: str) -> Told:
    today = as_of + timedelta(days=story.since)
    keeper, *others = (
        {
            "name": one.name,
            "username": one.username,
            "email": one.email,
            "password": password,
        }
        for one in story.members
    )
    first = found_household(
        name=story.name,
        timezone=story.timezone,
        today=today,
        keeper=keeper,
        is_demo=True,
    )
    roles = [one.role for one in story.members]
    members = {roles[0]: first}
    for role, person in zip(roles[1:], others, strict=True):
        members[role] = add_member(first, today=today, role=role, **person)
    return Told(story, as_of, first.household, members)


class Stamps:
    """Brings what was just entered to the evening of its day, as if typed then."""

    COLUMNS: tuple[tuple[type[Model], str, str], ...] = (
        (ServiceRecord, "entered_at", "rig__household"),
        (Reading, "entered_at", "meter__rig__household"),
        (Event, "entered_at", "rig__household"),
        (Completion, "entered_at", "item__rig__household"),
        (Deferral, "made_at", "item__rig__household"),
        (Attachment, "added_at", "rig__household"),
        (ActivityEntry, "at", "household"),
    )

    def __init__(self, household: Household) -> None:
        self.household = household
        self.last: dict[type[Model], int] = {}

    def bring_to(self, day: date) -> None:
        moment = datetime.combine(day, EVENING, self.household.zone)
        for model, column, path in self.COLUMNS:
            rows = model._default_manager.filter(
                pk__gt=self.last.get(model, 0), **{path: self.household}
            )
            if rows.update(**{column: moment}):
                self.last[model] = rows.aggregate(last=Max("pk"))["last"]


def steps_of(told: Told, rig: RigStory) -> Iterator[Step]:
    yield Step(rig.adopted, 0, partial(adopt, told, rig))
    for day_rows, order, act in (
        (rig.stated, 1, state),
        (rig.dropped, 1, drop),
        (rig.events, 5, report),
        (rig.findings, 8, find),
        (rig.deferred, 9, defer),
    ):
        for row in day_rows:  # type: ignore[attr-defined]
            yield Step(max(row.day, rig.adopted), order, partial(act, told, rig, row))
    yield from _meter_steps(told, rig)
    yield from _stay_steps(told, rig)
    for duty in rig.duty:
        yield Step(duty.start, 3, partial(_set_duty, told, rig, duty))
    for trip in rig.trips:
        yield Step(min(trip.end, 0), 7, partial(travel, told, rig, trip))
    for work in rig.works:
        for day in _days_of(told, rig, work):
            yield Step(day + work.late, 6, partial(log, told, rig, work, day))


# --- the rig and its plan ---------------------------------------------------------------


def adopt(told: Told, rig: RigStory, today: date) -> None:
    """Set the rig up, take on its proposal, and give the dates of its parts."""
    keeper = told.members["keeper"]
    in_service = told.on(rig.in_service)
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
        equipment=rig.equipment,
        in_service_on=in_service,
        year=in_service.year,
        notes=rig.notes,
    )
    keys = [proposal.procedure.key for proposal in proposals_for(made)]
    taken = [key for key in keys if key not in rig.leave]
    for item in plans.take_on(made, by=keeper, today=today, keys=taken):
        told.items[rig.key, item.key] = item
    for key, day in rig.life.items():
        _give_life(told.item(rig, key), keeper, today, told.on(day))


def _give_life(item: PlanItem, by: Member, today: date, start: date) -> None:
    """The date on the part, from which its rules of age count."""
    triggers = [
        {"life": {**rule["life"], "from": start.isoformat()}}
        if "life" in rule
        else rule
        for rule in item.triggers
    ]
    plans.change_item(item, by=by, today=today, triggers=triggers)


def state(told: Told, rig: RigStory, row: StatedStory, today: date) -> None:
    for key in row.keys:
        plans.state_baseline(
            told.item(rig, key),
            by=told.members["keeper"],
            today=today,
            on=told.on(row.day),
        )


def drop(told: Told, rig: RigStory, row: DroppedStory, today: date) -> None:
    for key in row.keys:
        item = told.items.pop((rig.key, key))
        plans.drop_item(item, by=told.members["keeper"], today=today, why=row.why)


def defer(told: Told, rig: RigStory, row: DeferredStory, today: date) -> None:
    plans.defer(
        told.item(rig, row.key),
        by=told.members["keeper"],
        today=today,
        until=told.on(row.until),
        why=row.why,
    )


# --- what happened to it ----------------------------------------------------------------


def _meter_steps(told: Told, rig: RigStory) -> Iterator[Step]:
    for kind, meter in rig.meters.items():
        for day, old_final, new_start in meter.replaced:
            figures = {"old_final": old_final, "new_start": new_start}
            act = partial(_replace, told, rig, kind, figures)
            yield Step(int(day), 2, act)
        for day, value in meter.readings:
            yield Step(int(day), 4, partial(_read, told, rig, kind, value))


def _meter(told: Told, rig: RigStory, kind: str) -> Meter:
    return told.rigs[rig.key].meters.get(kind=kind)


def _read(told: Told, rig: RigStory, kind: str, value: Decimal, today: date) -> None:
    vehicles.record_reading(
        _meter(told, rig, kind),
        by=told.members["crew"],
        today=today,
        on=today,
        value=Decimal(value),
    )


def _replace(
    told: Told, rig: RigStory, kind: str, figures: Mapping[str, Decimal], today: date
) -> None:
    vehicles.replace_meter(
        _meter(told, rig, kind),
        by=told.members["crew"],
        today=today,
        on=today,
        **{name: Decimal(value) for name, value in figures.items()},
    )


def _stay_steps(told: Told, rig: RigStory) -> Iterator[Step]:
    for stay in rig.stays:
        yield Step(min(stay.start, 0), 3, partial(_begin, told, rig, stay))
        if stay.end is not None:
            yield Step(stay.end, 3, partial(_end, told, rig, stay))


def _begin(told: Told, rig: RigStory, stay: StayStory, today: date) -> None:
    until = stay.planned if stay.planned is not None else stay.end
    vehicles.start_stay(
        told.rigs[rig.key],
        by=told.members["crew"],
        today=today,
        start=told.on(stay.start),
        planned_until=None if until is None else told.on(until),
        place=stay.place,
        winterized=stay.winterized,
        notes=stay.notes,
    )


def _end(told: Told, rig: RigStory, stay: StayStory, today: date) -> None:
    row = told.rigs[rig.key].stays.get(start=told.on(stay.start))
    vehicles.end_stay(row, by=told.members["crew"], today=today, ended_on=today)


def _set_duty(told: Told, rig: RigStory, duty: Any, today: date) -> None:
    vehicles.set_severe_duty(
        told.rigs[rig.key],
        by=told.members["keeper"],
        today=today,
        start=told.on(duty.start),
        end=told.on(duty.end),
        why=duty.why,
    )


def travel(told: Told, rig: RigStory, trip: TripStory, today: date) -> None:
    vehicles.plan_trip(
        told.rigs[rig.key],
        by=told.members["crew"],
        today=today,
        start=told.on(trip.start),
        end=told.on(trip.end),
        title=trip.title,
        distance=trip.distance,
        tow_vehicle=told.rigs[trip.towed_by] if trip.towed_by else None,
        hitched_at=trip.hitched,
        unhitched_at=trip.unhitched,
    )


def report(told: Told, rig: RigStory, event: EventStory, today: date) -> None:
    vehicles.report_event(
        told.rigs[rig.key],
        by=told.members["crew"],
        today=today,
        kind=event.kind,
        on=today,
        values=_decimals(event.at),
        note=event.note,
    )


def find(told: Told, rig: RigStory, row: FindingStory, today: date) -> None:
    open_finding(
        told.rigs[rig.key],
        by=told.members["crew"],
        on=today,
        what=row.what,
        unfit=row.unfit,
    )


# --- work done --------------------------------------------------------------------------


def _days_of(told: Told, rig: RigStory, work: WorkStory) -> list[int]:
    if not work.season:
        return work.days
    ends = getattr(told.household.calendar, work.season)
    years = range(told.on(rig.adopted).year, told.as_of.year + 2)
    opens = [(season_of(year, ends)[0] - told.as_of).days for year in years]
    early = [day - SEASON_EARLY for day in opens]
    return [day for day in early if rig.adopted < day <= 0]


def log(told: Told, rig: RigStory, work: WorkStory, day: int, today: date) -> None:
    """One record with its proof, the findings it opens and those it fixes."""
    by, owner = told.members[work.by], told.rigs[rig.key]
    token = uuid.uuid4()
    for name in work.proof:
        upload = SimpleUploadedFile(name, told.story.proof(name))
        hold(owner, by=by, form_token=token, upload=upload)
    record = log_service(
        owner,
        by=by,
        today=today,
        form_token=token,
        on=told.on(day),
        lines=_lines(told, rig, work),
        values=_decimals(work.at),
        wheels=_wheels(work.wheels),
        done_by="shop" if work.shop else "mobile" if work.mobile else "member",
        doer=work.shop or work.mobile or by.name,
        place=work.place,
        notes=work.notes,
        **{name: getattr(work, name) for name in ("labor", "parts", "tax", "total")},
    )
    opened = open_findings_of(record, by=by)
    names = [line.finding for line in work.lines if line.finding]
    told.findings.update(zip(names, opened, strict=True))
    for name in work.fixes:
        fix_finding(told.findings[name], by=by, line=record.lines.first())


def _lines(told: Told, rig: RigStory, work: WorkStory) -> list[Line]:
    keys = [key for name in work.rounds for key in told.story.rounds[name]]
    items = [told.items[rig.key, key] for key in keys if (rig.key, key) in told.items]
    items += [told.item(rig, key) for key in work.done]
    plain = [Line(item.title, item) for item in dict.fromkeys(items)]
    told_apart = [
        Line(item.title, item, line.outcome, line.note)
        if (item := told.item(rig, line.key) if line.key else None)
        else Line(line.title, None, line.outcome, line.note)
        for line in work.lines
    ]
    return [*told_apart, *plain]


def _wheels(data: Mapping[str, Any]) -> Wheels | None:
    if not data:
        return None
    return Wheels(
        off=frozenset(data.get("off", ())),
        figure=Decimal(data["figure"]),
        origin=data["origin"],
        wrench=data.get("wrench", ""),
        reached=_decimals(data.get("reached", {})),
        moved=frozenset(data.get("moved", ())),
    )


def _decimals(values: Mapping[str, Any]) -> dict[str, Decimal]:
    return {name: Decimal(value) for name, value in values.items()}
