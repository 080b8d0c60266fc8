"""What was said of a rig, corrected or withdrawn with a reason. A withdrawn fact is
kept and counts nowhere; what it said stays readable in the activity log."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from maintenance.core.units import show, show_number
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_span_words, day_words, money_words

from . import services, trips
from .events import event_in_words, refuse_closed, refuse_of_record, refuse_stale
from .models import (
    Event,
    FuelStop,
    MeterReplacement,
    NotTowed,
    Reading,
    Rig,
    Run,
    SevereDuty,
    Stay,
    Trip,
)
from .not_towed import check_not_towed, not_towed_words
from .rhythm import set_rhythm
from .runs import check_run

Fact = Reading | MeterReplacement | Run | Event | SevereDuty | Stay | Trip | NotTowed
FUEL = ("volume", "price", "full")  # columns of the fuel stop of a reading


@dataclass(frozen=True)
class FactKind:
    """A kind of fact: its name, who may enter it (and so correct it), what one says in
    words, and what cannot be so."""

    model: type[Fact]
    name: str
    role: Role
    words: Callable[[Any], str]
    check: Callable[[Any, date], None]


def kind_of(fact: Fact) -> FactKind:
    return next(kind for kind in KINDS.values() if kind.model is type(fact))


def words_of(fact: Fact) -> str:
    """What it says, whole: also to tell whether somebody changed it meanwhile."""
    return kind_of(fact).words(fact)


def rig_of(fact: Fact) -> Rig:
    if isinstance(fact, Reading | MeterReplacement | Run):
        return fact.meter.rig
    return fact.rig


@transaction.atomic
def withdraw_fact(fact: Fact, *, by: Member, today: date, why: str) -> Fact:
    """It never was so. What was given with it goes along; sent twice, it is withdrawn
    once. What a record gave is withdrawn through that record."""
    require(by, kind_of(fact).role)
    fact = _locked(fact)
    if fact.withdrawn:
        return fact
    if not why.strip():
        raise Refused("Enter why you're voiding it.", field="why")
    refuse_of_record(fact)
    if isinstance(fact, Reading):
        _refuse_of_trip(fact)
    fact.withdrawn = True
    fact.save(update_fields=["withdrawn"])
    _readings_given_with(fact).update(withdrawn=True)
    _note(by, "withdrew", fact, f"{words_of(fact)} ({why.strip()})")
    _renew(fact, today)
    return fact


def _readings_given_with(fact: Fact) -> Any:
    if isinstance(fact, Event):
        return fact.readings.all()
    ids = fact.reading_ids if isinstance(fact, Trip) else []
    return Reading.objects.filter(pk__in=ids)


@transaction.atomic
def correct_fact(
    fact: Fact,
    *,
    by: Member,
    today: date,
    why: str,
    seen: str,
    columns: Mapping[str, Any],
    confirmed: frozenset[str] = frozenset(),
    questionable: frozenset[str] = frozenset(),
) -> Fact:
    """Say otherwise what its `columns` hold. `seen`: the `words_of` that the form was
    filled with. `confirmed` and `questionable` name the columns whose values are right
    for sure, or count nowhere. Sent twice, it changes nothing the second time."""
    kind = kind_of(fact)
    require(by, kind.role)
    fact = _locked(fact)
    refuse_closed(fact)
    before, on_the_way = words_of(fact), _rigs(fact)
    _set(fact, columns)
    kind.check(fact, today)
    if isinstance(fact, Reading):
        _refuse_of_trip(fact)
        fact.confirmed = "value" in confirmed
        fact.questionable = "value" in questionable
    after = words_of(fact)
    if after == before:
        return fact
    refuse_stale(seen, before, after)
    if isinstance(fact, Trip):
        trips.give_readings(fact, by, confirmed, questionable)
    fact.save()
    if isinstance(fact, Reading) and (stop := fuel_of(fact)):
        stop.save()
    _note(by, "corrected", fact, f"{before} → {after} ({why.strip()})")
    _renew(fact, today, on_the_way)
    return fact


def _set(fact: Fact, columns: Mapping[str, Any]) -> None:
    for name, value in columns.items():
        owner = fuel_of(fact) if name in FUEL else fact
        if owner is not None:
            setattr(owner, name, value)


def _locked(fact: Fact) -> Fact:
    found: Fact = type(fact).objects.select_for_update().get(pk=fact.pk)
    return found


def _refuse_of_trip(reading: Reading) -> None:
    for slot in ("start_reading", "end_reading"):
        trip = Trip.objects.filter(withdrawn=False, **{slot: reading}).first()
        if trip is not None:
            raise Refused(
                f"It came with {trip.rig}'s trip “{trip}”. Correct that trip instead."
            )


def _rigs(fact: Fact) -> list[Rig]:
    return fact.travelers if isinstance(fact, Trip) else [rig_of(fact)]


def _renew(fact: Fact, today: date, before: list[Rig] | None = None) -> None:
    for rig in {rig.pk: rig for rig in [*(before or []), *_rigs(fact)]}.values():
        inputs_changed.send(
            sender=type(fact), household=rig.household, rig_ids=[rig.pk], as_of=today
        )


def _note(by: Member, act: str, fact: Fact, about: str) -> None:
    note_activity(by, f"{act} {kind_of(fact).name}", f"{rig_of(fact)}: {about}")


# --- what each kind says, and what cannot be so ---------------------------------------


def fuel_of(fact: Fact) -> FuelStop | None:
    return getattr(fact, "fuel", None)


def _reading_words(reading: Reading) -> str:
    meter = reading.meter
    words = f"{meter} {show(reading.value, meter.unit)} on {day_words(reading.on)}"
    stop = fuel_of(reading)
    if stop is None:
        return words
    words += f", {show(stop.volume, stop.unit, places=3)} of fuel"
    if stop.price is not None:
        words += f" for {money_words(stop.price, stop.currency)}"
    return words if stop.full else f"{words}, not filled up"


def _check_reading(reading: Reading, today: date) -> None:
    services.refuse_future(reading.on, today)


def _run_words(run: Run) -> str:
    return f"generator ran {show(run.hours, 'h')} on {day_words(run.on)}"


def _replacement_words(row: MeterReplacement) -> str:
    unit = row.meter.unit
    return (
        f"{row.meter} replaced or rolled over on {day_words(row.on)}, from "
        f"{show(row.old_final, unit)} to {show(row.new_start, unit)}"
    )


def _check_replacement(row: MeterReplacement, today: date) -> None:
    services.refuse_future(row.on, today)
    services.refuse_second(row)


def _duty_words(duty: SevereDuty) -> str:
    still_on = f"from {day_words(duty.start)}, still on"
    days = day_span_words(duty.start, duty.end) if duty.end else still_on
    words = f"severe duty {days}"
    return f"{words}: {duty.why}" if duty.why else words


def _check_duty(duty: SevereDuty, _today: date) -> None:
    if duty.end is not None and duty.end < duty.start:
        raise Refused(
            "The last day is before the first. Enter a later last day.", field="end"
        )


def _stay_words(stay: Stay) -> str:
    if stay.ended_on:
        return f"storage {day_span_words(stay.start, stay.ended_on)}"
    words = f"storage from {day_words(stay.start)}"
    if stay.planned_until:
        return f"{words}, planned until {day_words(stay.planned_until)}"
    return words


def _check_stay(stay: Stay, today: date) -> None:
    services.check_stay(stay, today)
    set_rhythm(stay)


def _trip_words(trip: Trip) -> str:
    words = f"“{trip}”, {day_span_words(trip.start, trip.end)}"
    if trip.distance is not None:
        words += f", {show(trip.distance, trip.unit)}"
    if trip.hitched_at is not None and trip.unhitched_at is not None:
        start, end = show_number(trip.hitched_at), show_number(trip.unhitched_at)
        words += f", odometer {start} to {end}"
    if trip.off:
        words += f", {show_number(trip.off)} of it unhitched"
    return words


KINDS: dict[str, FactKind] = {
    "reading": FactKind(Reading, "reading", Role.CREW, _reading_words, _check_reading),
    "replacement": FactKind(
        MeterReplacement,
        "meter replacement",
        Role.CREW,
        _replacement_words,
        _check_replacement,
    ),
    "run": FactKind(Run, "generator run", Role.CREW, _run_words, check_run),
    "event": FactKind(
        Event,
        "event",
        Role.CREW,
        lambda event: event_in_words(event, event.rig),
        lambda event, today: services.refuse_future(event.on, today),
    ),
    "duty": FactKind(SevereDuty, "severe duty", Role.KEEPER, _duty_words, _check_duty),
    "stay": FactKind(Stay, "stay", Role.CREW, _stay_words, _check_stay),
    "not-towed": FactKind(
        NotTowed, "not towed", Role.CREW, not_towed_words, check_not_towed
    ),
    "trip": FactKind(Trip, "trip", Role.CREW, _trip_words, trips.check_trip),
}
