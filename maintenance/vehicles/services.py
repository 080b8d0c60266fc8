"""Changing rigs and what is known of them. Each ends with the standings renewed."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.core.facts import TOW_ODOMETER
from maintenance.core.triggers import EVENT_KINDS
from maintenance.core.units import show
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_span_words, day_words

from .models import (
    HOUR_METERS,
    DualNuts,
    Event,
    FuelStop,
    Meter,
    MeterKind,
    MeterReplacement,
    MeterUnit,
    Reading,
    Rig,
    SevereDuty,
    Stay,
    Trip,
    WaterKept,
)
from .queries import meters_shown
from .rhythm import set_rhythm
from .road import tow_meter_on
from .state import (
    refuse_after_sale,
    refuse_sale_before,
    refuse_until_it_left,
    stay_left_open,
    stays_left_open,
)


def renew_with_tow(rig: Rig, on: date, today: date) -> None:
    """The rig, and what towed it on that day, whose odometer was read."""
    tow = tow_meter_on(rig, on)
    for one in {rig, tow.rig if tow else rig}:
        _renew(one, today)


def _renew(rig: Rig, today: date) -> None:
    inputs_changed.send(
        sender=Rig, household=rig.household, rig_ids=[rig.pk], as_of=today
    )


def refuse_future(on: date, today: date, field: str = "on") -> None:
    if on > today:
        raise Refused(
            f"{day_words(on)} is still to come. Enter the date it happened.",
            field=field,
        )


@transaction.atomic
def add_rig(by: Member, *, today: date, meters: Iterable[dict], **fields) -> Rig:
    """A new rig with its meters, each {kind, unit, today_value}."""
    require(by, Role.KEEPER)
    refuse_future(fields["in_service_on"], today, "in_service_on")
    if by.household.rigs.filter(name=fields["name"]).exists():
        raise Refused("There's already a rig with this name.", field="name")
    rig = Rig.objects.create(household=by.household, **fields)
    for meter in meters:
        value = meter.pop("today_value")
        made = add_meter(rig, in_service_value=Decimal(0), **meter)
        if value is not None:
            store_reading(made, by=by, on=today, value=value)
    note_activity(by, "added rig", rig.name)
    return rig


@transaction.atomic
def fit_meter(
    rig: Rig, *, by: Member, today: date, kind: str, unit: str, value: Decimal
) -> Meter:
    """A meter that the rig has had all along, or that was fitted later."""
    require(by, Role.KEEPER)
    logged = rig.meters.filter(kind=kind).first()
    if logged is not None and not logged.by_runs:
        raise Refused("The rig already has this meter.", field="kind")
    if logged is not None and logged.unit != unit:
        raise Refused(
            "This meter doesn't count in that unit. Choose another.", field="unit"
        )
    meter = logged or add_meter(rig, kind=kind, unit=unit)
    store_reading(meter, by=by, on=today, value=value)
    if kind == MeterKind.TOWED:  # it has no other meter
        Meter.objects.filter(pk=meter.pk).update(hub_confirmed_on=today)
    note_activity(by, "added meter", f"{rig}: {meter}")
    _renew(rig, today)
    return meter


def add_meter(
    rig: Rig, *, kind: str, unit: str, in_service_value: Decimal | None = None
) -> Meter:
    in_hours = MeterKind(kind) in HOUR_METERS
    if in_hours != (unit == MeterUnit.HOURS):
        raise Refused(
            "This meter doesn't count in that unit. Choose another.", field="unit"
        )
    return Meter.objects.create(
        rig=rig, kind=kind, unit=unit, in_service_value=in_service_value
    )


@transaction.atomic
def change_rig(rig: Rig, *, by: Member, today: date, **fields) -> Rig:
    require(by, Role.KEEPER)
    if "in_service_on" in fields:
        refuse_future(fields["in_service_on"], today, "in_service_on")
    same_name = by.household.rigs.filter(name=fields.get("name", rig.name))
    if same_name.exclude(pk=rig.pk).exists():
        raise Refused("There's already a rig with this name.", field="name")
    for name, value in fields.items():
        setattr(rig, name, value)
    rig.save(update_fields=list(fields))
    note_activity(by, "changed rig", rig.name)
    _renew(rig, today)
    return rig


def tell_dual_nuts(rig: Rig, *, by: Member, nuts: str) -> None:
    """How many nuts each stud of its dual wheels has. Refused for another word."""
    require(by, Role.CREW)
    if nuts not in DualNuts.values:
        raise Refused("Choose how many nuts each stud has: one or two.")
    rig.dual_nuts = nuts
    rig.save(update_fields=["dual_nuts"])
    note_activity(by, "changed rig", rig.name)


@transaction.atomic
def sell_rig(rig: Rig, *, by: Member, today: date, on: date) -> Rig:
    """A sold rig keeps its history and is silent from then on."""
    refuse_future(on, today)
    refuse_sale_before(rig, on, today)
    return change_rig(rig, by=by, today=today, sold_on=on)


@transaction.atomic
def take_back(rig: Rig, *, by: Member, today: date) -> Rig:
    """It was not sold after all: its plan counts again as it stands."""
    return change_rig(rig, by=by, today=today, sold_on=None)


@transaction.atomic
def record_reading(
    meter: Meter,
    *,
    by: Member,
    today: date,
    on: date,
    value: Decimal,
    confirmed: bool = False,
    questionable: bool = False,
) -> Reading:
    """Store a reading. Whether it fits the others is reckoned, never guessed here."""
    require(by, Role.CREW)
    refuse_future(on, today)
    refuse_after_sale(meter.rig, on)
    if meter.by_runs:
        raise Refused(
            f"{meter.rig} has no hour meter on its generator. Enter its runs, "
            "or add the meter first.",
            field="meter",
        )
    reading = store_reading(
        meter,
        by=by,
        on=on,
        value=value,
        confirmed=confirmed,
        questionable=questionable,
    )
    note_activity(
        by, "entered a reading", f"{meter.rig}, {meter}: {show(value, meter.unit)}"
    )
    _renew(meter.rig, today)
    return reading


def store_reading(
    meter: Meter,
    *,
    by: Member,
    on: date,
    value: Decimal,
    confirmed: bool = False,
    questionable: bool = False,
    event: Event | None = None,
) -> Reading:
    """The row alone, for a change that renews the standings itself. `event`: what it
    was given with."""
    if value < 0:
        raise Refused("A meter can't show less than zero.", field="value")
    return Reading.objects.create(
        meter=meter,
        on=on,
        value=value,
        confirmed=confirmed,
        questionable=questionable,
        entered_by=by,
        event=event,
    )


@transaction.atomic
def record_fuel_stop(
    meter: Meter,
    *,
    by: Member,
    today: date,
    on: date,
    value: Decimal,
    volume: Decimal,
    unit: str,
    price: Decimal | None = None,
    full: bool = True,
    confirmed: bool = False,
    questionable: bool = False,
) -> FuelStop:
    """A reading of the odometer with the fuel that was taken in there."""
    if meter.kind != MeterKind.ODOMETER:
        raise Refused("Enter the odometer reading along with the fuel.", field="meter")
    if volume <= 0:
        raise Refused("Enter how much fuel you added.", field="volume")
    reading = record_reading(
        meter,
        by=by,
        today=today,
        on=on,
        value=value,
        confirmed=confirmed,
        questionable=questionable,
    )
    return FuelStop.objects.create(
        reading=reading,
        volume=volume,
        unit=unit,
        price=price,
        currency=meter.rig.household.currency,
        full=full,
    )


@transaction.atomic
def confirm_reading(reading: Reading, *, by: Member, today: date) -> None:
    """A doubtful reading that is right after all."""
    require(by, Role.CREW)
    Reading.objects.filter(pk=reading.pk).update(confirmed=True, questionable=False)
    note_activity(by, "confirmed reading", str(reading))
    _renew(reading.meter.rig, today)


@transaction.atomic
def confirm_hub_meter(rig: Rig, *, by: Member, today: date) -> None:
    """The readings of its towed distance are those of a meter on the hub."""
    require(by, Role.KEEPER)
    meters = Meter.objects.filter(rig=rig, kind=MeterKind.TOWED)
    if meters.filter(hub_confirmed_on=None).update(hub_confirmed_on=today):
        note_activity(by, "confirmed hub meter", rig.name)


@transaction.atomic
def replace_meter(
    meter: Meter,
    *,
    by: Member,
    today: date,
    on: date,
    old_final: Decimal,
    new_start: Decimal,
) -> MeterReplacement:
    """The same replacement sent twice is one; another one on its day is refused."""
    require(by, Role.CREW)
    refuse_future(on, today)
    refuse_after_sale(meter.rig, on)
    Meter.objects.select_for_update().get(pk=meter.pk)
    made = MeterReplacement(
        meter=meter, on=on, old_final=old_final, new_start=new_start
    )
    known = _of_that_day(made)
    if known and (known.old_final, known.new_start) == (old_final, new_start):
        return known
    refuse_second(made)
    made.save()
    note_activity(by, "replaced meter", f"{meter.rig}, {meter}")
    _renew(meter.rig, today)
    return made


def _of_that_day(row: MeterReplacement) -> MeterReplacement | None:
    rows = row.meter.replacements.filter(on=row.on, withdrawn=False)
    return rows.exclude(pk=row.pk).first()


def refuse_second(row: MeterReplacement) -> None:
    """A meter is replaced or rolls over once a day."""
    known, unit = _of_that_day(row), row.meter.unit
    if known is not None:
        raise Refused(
            f"{day_words(row.on)} already has a replacement: the old meter last showed "
            f"{show(known.old_final, unit)}, the new one began at "
            f"{show(known.new_start, unit)}. Correct that one.",
            field="on",
        )


@transaction.atomic
def set_severe_duty(
    rig: Rig, *, by: Member, today: date, start: date, end: date | None, why: str = ""
) -> SevereDuty:
    require(by, Role.KEEPER)
    if end is not None and end < start:
        raise Refused(
            "The last day is before the first. Enter a later last day.", field="end"
        )
    refuse_after_sale(rig, start, "start")
    duty = SevereDuty.objects.create(rig=rig, start=start, end=end, why=why)
    note_activity(by, "set severe duty", rig.name)
    _renew(rig, today)
    return duty


@transaction.atomic
def start_stay(
    rig: Rig,
    *,
    by: Member,
    today: date,
    start: date,
    left_on: date | None = None,
    **fields,
) -> Stay:
    """A stay, begun or only planned; refused where it overlaps another stay. One that
    nobody ended ends on `left_on`."""
    require(by, Role.CREW)
    refuse_after_sale(rig, start, "start")
    let_leave(rig, by=by, today=today, begins=start, left_on=left_on)
    planned = fields.get("planned_until")
    _check_stay_days(start, planned)
    _refuse_overlap(rig, start, planned or date.max, None)
    stay = Stay(rig=rig, start=start)
    _set_stay(stay, fields)
    stay.save()
    note_activity(by, "put into storage", f"{rig} from {day_words(start)}")
    _renew(rig, today)
    return stay


@transaction.atomic
def change_stay(stay: Stay, *, by: Member, today: date, **fields) -> Stay:
    require(by, Role.CREW)
    start = fields.get("start", stay.start)
    refuse_after_sale(stay.rig, start, "start")
    planned = fields.get("planned_until", stay.planned_until)
    _check_stay_days(start, planned)
    end = fields.get("ended_on") or stay.ended_on or planned or date.max
    _refuse_overlap(stay.rig, start, end, stay.pk)
    _set_stay(stay, fields)
    stay.save()
    note_activity(by, "changed storage", f"{stay.rig} from {day_words(stay.start)}")
    _renew(stay.rig, today)
    return stay


@transaction.atomic
def end_stay(stay: Stay, *, by: Member, today: date, ended_on: date) -> Stay:
    require(by, Role.CREW)
    refuse_future(ended_on, today, "ended_on")
    if ended_on < stay.start:
        raise Refused(
            (
                f"Storage began on {day_words(stay.start)}. "
                "Enter that day or a later one."
            ),
            field="ended_on",
        )
    return change_stay(stay, by=by, today=today, ended_on=ended_on)


def let_leave(
    rig: Rig, *, by: Member, today: date, begins: date, left_on: date | None
) -> None:
    """End the stay that nobody ended, since a trip or another stay began after it;
    refused with the question when it left until `left_on` says it."""
    stay = stay_left_open(rig, begins, today)
    if stay is not None:
        day = refuse_until_it_left(stay, left_on, begins)
        end_stay(stay, by=by, today=today, ended_on=day)


@transaction.atomic
def say_left(stay: Stay, *, by: Member, today: date, left_on: date) -> None:
    """When the rig left, of a stay that gave way to what began after it."""
    found = [x for x in stays_left_open([stay.rig], today) if x.stay == stay]
    if not found:
        raise Refused("Someone already answered this.")
    day = refuse_until_it_left(stay, left_on, found[0].begins)
    end_stay(stay, by=by, today=today, ended_on=day)


def _set_stay(stay: Stay, fields: Mapping[str, Any]) -> None:
    """With what follows: whether it is winterized, and what its runways ask."""
    for name, value in fields.items():
        setattr(stay, name, value)
    if fields.get("water"):
        stay.winterized = stay.water in {WaterKept.DRY, WaterKept.ANTIFREEZE}
    if None not in (stay.lowest, stay.usual) and stay.lowest > stay.usual:
        raise Refused(
            "The lowest temperature is above the usual one. Check both.", field="lowest"
        )
    set_rhythm(stay)


def _check_stay_days(start: date, planned_until: date | None) -> None:
    if planned_until is not None and planned_until < start:
        raise Refused(
            "The end is before the start. Enter a later end.", field="planned_until"
        )


def check_stay(stay: Stay, today: date) -> None:
    """Refused for days that cannot be so."""
    if stay.ended_on is not None:
        refuse_future(stay.ended_on, today, "ended_on")
    if stay.ended_on is not None and stay.ended_on < stay.start:
        raise Refused(
            f"Storage began on {day_words(stay.start)}. Enter that day or a later one.",
            field="ended_on",
        )
    _check_stay_days(stay.start, stay.planned_until)
    end = stay.ended_on or stay.planned_until or date.max
    _refuse_overlap(stay.rig, stay.start, end, stay.pk)


def _refuse_overlap(rig: Rig, start: date, end: date, but: int | None) -> None:
    """A stay's days run from its first up to, not including, its last. What the stay
    `but` overlaps already, in old data, does not keep it from being put right."""
    known = rig.stays.filter(pk=but or 0).first()
    old = (known.start, known.known_end) if known is not None else (date.max, date.min)
    for other in rig.stays.filter(withdrawn=False).exclude(pk=but or 0):
        days = (other.start, other.known_end)
        if _meet((start, end), days) and not _meet(old, days):
            raise Refused(
                (
                    f"{rig} is also in storage from {day_words(other.start)}. "
                    "End that first, or choose other days."
                ),
                field="start",
            )
    for trip in Trip.objects.of(rig).filter(start__lt=end, end__gt=start):
        if _meet(old, (trip.start, trip.end)):
            continue
        raise Refused(
            (
                f"{rig} is on a trip {day_span_words(trip.start, trip.end)}. Choose "
                "other days."
            ),
            field="start",
        )


def _meet(one: tuple[date, date], other: tuple[date, date]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


@transaction.atomic
def report_event(
    rig: Rig,
    *,
    by: Member,
    today: date,
    kind: str,
    on: date,
    values: Mapping[str, Decimal] | None = None,
    places: Iterable[str] | None = None,
    note: str = "",
    confirmed: Collection[str] = (),
    questionable: Collection[str] = (),
) -> Event:
    """Something happened. No `places` means all places. `values` are what the meters
    showed; they are kept as readings, those of `confirmed` meters as right for sure,
    those of `questionable` ones count nowhere."""
    require(by, Role.CREW)
    refuse_future(on, today)
    refuse_after_sale(rig, on)
    event = store_event(
        rig, by=by, kind=kind, on=on, values=values, places=places, note=note
    )
    keep_readings(event, by=by, confirmed=confirmed, questionable=questionable)
    note_activity(by, "reported event", f"{rig}: {kind}")
    renew_with_tow(rig, on, today)
    return event


def store_event(
    rig: Rig,
    *,
    by: Member,
    kind: str,
    on: date,
    values: Mapping[str, Decimal] | None = None,
    places: Iterable[str] | None = None,
    note: str = "",
) -> Event:
    """The row alone, for a change that renews the standings itself."""
    return Event.objects.create(
        rig=rig,
        kind=check_kind(kind),
        on=on,
        values={meter: str(value) for meter, value in (values or {}).items()},
        places=check_places(rig, places),
        note=note,
        entered_by=by,
    )


def check_kind(kind: str) -> str:
    if kind not in EVENT_KINDS:
        raise Refused(f"“{kind}” isn't a known event.", field="kind")
    return kind


def keep_readings(
    event: Event,
    *,
    by: Member,
    confirmed: Collection[str],
    questionable: Collection[str],
) -> None:
    """The figures of an event as the readings that they are; those it no longer gives
    are withdrawn. Towed distance without a hub meter is nothing that a meter shows."""
    meters = {meter.kind: meter for meter in meters_shown(event.rig)}
    tow = tow_meter_on(event.rig, event.on)
    if tow is not None:
        meters[TOW_ODOMETER] = tow
    unknown = event.values.keys() - meters.keys()
    if unknown:
        raise Refused(
            f"{event.rig} doesn't have this meter: {', '.join(sorted(unknown))}."
        )
    old = {row.meter_id: row for row in event.readings.filter(withdrawn=False)}
    for kind, value in event.values.items():
        meter, sure, open_ = meters[kind], kind in confirmed, kind in questionable
        known = old.get(meter.pk)
        if known and (known.on, known.value) == (event.on, Decimal(value)):
            del old[meter.pk]
            sure = sure or (known.confirmed and not open_)
            event.readings.filter(pk=known.pk).update(
                confirmed=sure, questionable=open_
            )
        elif kind != MeterKind.TOWED or meter.readings.filter(withdrawn=False):
            store_reading(
                meter,
                by=by,
                on=event.on,
                value=Decimal(value),
                confirmed=sure,
                questionable=open_,
                event=event,
            )
    withdraw(readings=old.values(), events=())


def check_places(rig: Rig, places: Iterable[str] | None) -> list[str] | None:
    """The places in the rig's own order; refused where the rig has no such place."""
    if places is None:
        return None
    wanted = set(places)
    strange = wanted - set(rig.places)
    if strange:
        raise Refused(
            (
                f"{rig} has no wheel at {', '.join(sorted(strange))}. Its "
                f"wheels: {', '.join(rig.places)}."
            ),
            field="places",
        )
    return [place for place in rig.places if place in wanted] or None


def withdraw(*, readings: Iterable[Reading], events: Iterable[Event]) -> None:
    """What a voided record had given and raised; the caller renews the standings."""
    Reading.objects.filter(pk__in=[row.pk for row in readings]).update(withdrawn=True)
    Event.objects.filter(pk__in=[row.pk for row in events]).update(withdrawn=True)
