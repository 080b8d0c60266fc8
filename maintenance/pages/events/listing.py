"""All that was said of a rig, newest first: what a row says, where it came from, and
where it is corrected."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Prefetch, Q
from django.urls import reverse

from maintenance.components.models import Fitting
from maintenance.core.facts import TOW_ODOMETER
from maintenance.core.units import show, show_number
from maintenance.households.models import ActivityEntry, Role
from maintenance.plans.event_words import event_words
from maintenance.service_records.models import ServiceRecord
from maintenance.ui.words import day_words, money_words
from maintenance.vehicles.correcting import KINDS, Fact, fuel_of, kind_of, words_of
from maintenance.vehicles.events import figures_of, instead_words
from maintenance.vehicles.models import (
    Event,
    MeterReplacement,
    NotTowed,
    Reading,
    Rig,
    Run,
    Stay,
    Trip,
)
from maintenance.vehicles.queries import readings_of

LOGGED = 20  # corrections shown


@dataclass(frozen=True)
class FactRow:
    """`record`: it came with that record of work, which is what is corrected."""

    on: date
    pk: int
    what: str
    says: str
    note: str = ""
    origin: str = ""
    record: ServiceRecord | None = None
    correct: str = ""
    withdraw: str = ""
    role: Role = Role.CREW


def rows_of(rig: Rig, today: date) -> list[FactRow]:
    trips = list(Trip.objects.of(rig).select_related("rig__household"))
    rows = [
        *_readings(rig, trips),
        *_events(rig, today),
        *_replacements(rig),
        *_runs(rig),
        *_not_towed(rig),
        *_duty(rig),
        *_stays(rig),
        *_trips(rig, trips),
        *_fittings(rig),
    ]
    return sorted(rows, key=lambda row: (row.on, row.pk), reverse=True)


def changes_of(rig: Rig) -> list[ActivityEntry]:
    """What was corrected and withdrawn, with what it said before."""
    acts = Q(what__startswith="corrected ") | Q(what__startswith="withdrew ")
    rows = ActivityEntry.objects.filter(acts, household=rig.household)
    rows = rows.filter(about__startswith=f"{rig}: ").select_related("member")
    return list(rows[:LOGGED])


def _row(fact: Fact, on: date, what: str, says: str, **more: object) -> FactRow:
    urls = {}
    if not more.get("record"):
        urls = {
            "correct": url_of(fact, "correct"),
            "withdraw": url_of(fact, "withdraw"),
        }
    role = kind_of(fact).role
    return FactRow(on, fact.pk, what, says, role=role, **urls, **more)  # type: ignore[arg-type]


def url_of(fact: Fact, act: str) -> str:
    """Of the page that corrects or withdraws a fact."""
    if isinstance(fact, Event) and act == "correct":
        return reverse("correct_event", args=[fact.pk])
    slug = next(key for key, kind in KINDS.items() if kind is kind_of(fact))
    return reverse(f"{act}_fact", args=[slug, fact.pk])


def _readings(rig: Rig, trips: Iterable[Trip]) -> Iterator[FactRow]:
    """Those that came with an event or a trip stand there."""
    on_trips = {pk for trip in trips for pk in trip.reading_ids}
    rows = readings_of(rig).filter(event=None).select_related("fuel")
    for reading in rows.prefetch_related("records"):
        if reading.pk in on_trips:
            continue
        record = next(
            (one for one in reading.records.all() if one.voided_at is None), None
        )
        yield _row(
            reading,
            reading.on,
            str(reading.meter),
            show(reading.value, reading.meter.unit),
            note=_mark(reading),
            origin=_origin(reading, record),
            record=record,
        )


def _mark(reading: Reading) -> str:
    if reading.doubtful:
        return "Questionable: it doesn't count"
    return "Confirmed" if reading.confirmed else ""


def _origin(reading: Reading, record: ServiceRecord | None) -> str:
    if record is not None:
        return "Record of work"
    stop = fuel_of(reading)
    if stop is None:
        return "Reading"
    words = f"Fuel stop, {show(stop.volume, stop.unit, places=3)}"
    if stop.price is None:
        return words
    return f"{words} for {money_words(stop.price, stop.currency)}"


def _events(rig: Rig, today: date) -> Iterator[FactRow]:
    rows = rig.events.filter(withdrawn=False)
    readings = Reading.objects.select_related("meter__rig")
    events = list(rows.prefetch_related("records", Prefetch("readings", readings)))
    figures = figures_of(rig, events, as_of=today)
    for event in events:
        shown = [
            str(one) if one.counts else f"{one} ({instead_words(one)})"
            for one in figures[event.pk]
        ]
        if TOW_ODOMETER in event.values:
            shown.append(_of_tow_vehicle(event))
        if event.places:
            shown.append(f"at {', '.join(event.places)}")
        yield _row(
            event,
            event.on,
            str(event_words(event.kind)),
            ", ".join(shown),
            note=event.note,
            origin="Event",
            record=next(iter(event.records.all()), None),
        )


def _of_tow_vehicle(event: Event) -> str:
    """What its odometer showed, as the reading that came of it."""
    value = Decimal(event.values[TOW_ODOMETER])
    given = (one for one in event.readings.all() if one.meter.rig_id != event.rig_id)
    reading = next((one for one in given if not one.withdrawn), None)
    if reading is None:
        return f"the tow vehicle's odometer {show_number(value)}"
    words = f"{reading.meter.rig}'s odometer {show(value, reading.meter.unit)}"
    return f"{words} (questionable: it doesn't count)" if reading.doubtful else words


def _replacements(rig: Rig) -> Iterator[FactRow]:
    rows = MeterReplacement.objects.filter(meter__rig=rig, withdrawn=False)
    for row in rows.select_related("meter"):
        unit = row.meter.unit
        says = f"{show(row.old_final, unit)} → {show(row.new_start, unit)}"
        yield _row(row, row.on, f"{row.meter} replaced", says, origin="Replacement")


def _runs(rig: Rig) -> Iterator[FactRow]:
    rows = Run.objects.filter(meter__rig=rig, withdrawn=False)
    for run in rows.select_related("meter"):
        says = show(run.hours, run.meter.unit)
        yield _row(run, run.on, "Generator ran", says, origin="Logged run")


def _not_towed(rig: Rig) -> Iterator[FactRow]:
    for said in NotTowed.objects.filter(rig=rig, withdrawn=False):
        says = f"since {day_words(said.since)}"
        yield _row(said, said.said_on, "Not towed", says, origin="Not towed")


def _duty(rig: Rig) -> Iterator[FactRow]:
    for duty in rig.duty.filter(withdrawn=False):
        says = f"until {day_words(duty.end)}" if duty.end else "still on"
        what = "Severe duty began"
        yield _row(duty, duty.start, what, says, note=duty.why, origin="Severe duty")


def _stays(rig: Rig) -> Iterator[FactRow]:
    for stay in rig.stays.filter(withdrawn=False):
        yield _row(
            stay,
            stay.start,
            "Put in storage",
            _until(stay),
            note=stay.place,
            origin="Storage",
        )


def _until(stay: Stay) -> str:
    if stay.ended_on:
        return f"until {day_words(stay.ended_on)}"
    if stay.planned_until:
        return f"planned until {day_words(stay.planned_until)}"
    return "no end known"


def _trips(rig: Rig, trips: Iterable[Trip]) -> Iterator[FactRow]:
    for trip in trips:
        words = words_of(trip).partition("” from ")[2]
        what = f"Trip: {trip}" if trip.rig == rig else f"Trip of {trip.rig}: {trip}"
        yield _row(trip, trip.start, what, f"from {words}", origin="Trip")


def _fittings(rig: Rig) -> Iterator[FactRow]:
    """Parts that came to the rig, each with where it went."""
    rows = Fitting.objects.filter(rig=rig, withdrawn=False).select_related("component")
    for row in rows:
        until = f"until {day_words(row.end)}" if row.end else "still there"
        yield FactRow(
            row.start,
            row.pk,
            f"Installed: {row.component.what}",
            ", ".join(filter(None, [row.place_words, until])),
            origin="Part",
            correct=reverse("correct_fitting", args=[row.pk]),
            withdraw=reverse("withdraw_fitting", args=[row.pk]),
        )
