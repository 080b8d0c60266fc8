"""An event as it was told: what of it counts, and putting it right."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Protocol

from django.db import transaction
from django.db.models import Model

from maintenance.core import facts
from maintenance.core.timeline import RigTimeline
from maintenance.core.units import show
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import Event, Reading, Rig
from .queries import decimals, use_facts
from .services import check_kind, check_places, keep_readings, refuse_future


@dataclass(frozen=True, slots=True)
class Told:
    """A figure of an event, as its meter showed it. `instead` is what counts where the
    figure does not: the value of the day by the readings (None: there is none)."""

    meter: str  # its kind
    unit: str
    value: Decimal
    counts: bool
    instead: Decimal | None = None

    def __str__(self) -> str:
        return show(self.value, self.unit)


class WithFigures(Protocol):
    """An event, or a record of work: its day, and what the meters showed."""

    pk: int
    rig: Rig
    on: date
    values: dict[str, str]


def left_out(told: Sequence[WithFigures]) -> list[str]:
    """Of each figure of one rig that does not count, what counts instead, in words."""
    found = figures_of(told[0].rig, told, as_of=told[0].rig.household.today())
    return [
        f"{one}: {instead_words(one)}"
        for figures in found.values()
        for one in figures
        if not one.counts
    ]


def instead_words(one: Told) -> str:
    if one.instead is None:
        return "questionable, so it doesn't count. Enter the right one."
    instead = show(one.instead, one.unit, places=1 if one.unit == "h" else 0)
    return (
        f"questionable, so it doesn't count. {instead} is used, estimated from the "
        "readings."
    )


def figures_of(
    rig: Rig, events: Iterable[WithFigures], *, as_of: date
) -> dict[int, list[Told]]:
    """Id of an event or a record -> its figures, each with whether it counts."""
    known = use_facts([rig], as_of)[rig.pk]
    day = RigTimeline(known.without_items(), facts.Calendar(), as_of)
    return {
        event.pk: [
            _told(day, kind, event.on, value)
            for kind, value in decimals(event.values).items()
            if kind in day.tracks
        ]
        for event in events
    }


def _told(day: RigTimeline, kind: str, on: date, value: Decimal) -> Told:
    track = day.tracks[kind]
    if track.counts(value, on):
        return Told(kind, track.unit, value, counts=True)
    true = track.value_on(on)
    instead = None if true is None else track.scale.shown_on(true, on)
    return Told(kind, track.unit, value, counts=False, instead=instead)


def version_of(event: Event) -> str:
    """What a form was filled with, to tell whether somebody changed it since."""
    return event_in_words(event, event.rig)


@transaction.atomic
def correct_event(
    event: Event,
    *,
    by: Member,
    today: date,
    why: str,
    seen: str,
    kind: str,
    on: date,
    values: Mapping[str, Decimal],
    places: Iterable[str] | None = None,
    note: str = "",
    confirmed: Collection[str] = (),
    questionable: Collection[str] = (),
) -> Event:
    """Say otherwise what happened, when, where and at which figures. What it said stays
    readable in the activity log. `seen`: the `version_of` that the form was filled
    with; sent twice, it changes nothing the second time.
    """
    require(by, Role.CREW)
    event = Event.objects.select_for_update().get(pk=event.pk)
    refuse_closed(event)
    refuse_future(on, today)
    before = event_in_words(event, event.rig)
    event.kind, event.on, event.note = check_kind(kind), on, note
    event.values = _unchanged_kept(event.values, values)
    event.places = check_places(event.rig, places)
    after = event_in_words(event, event.rig)
    if after != before:
        refuse_stale(seen, before, after)
        event.save(update_fields=["kind", "on", "note", "values", "places"])
        about = f"{event.rig}: {before} → {after} ({why.strip()})"
        note_activity(by, "corrected event", about)
    keep_readings(event, by=by, confirmed=confirmed, questionable=questionable)
    rig = event.rig
    inputs_changed.send(
        sender=Event, household=rig.household, rig_ids=[rig.pk], as_of=today
    )
    return event


def refuse_closed(fact: Model) -> None:
    """A fact that was withdrawn stays as it is; one of a record is not changed here."""
    if getattr(fact, "withdrawn", False):
        raise Refused("This was voided, so it can't be changed.")
    refuse_of_record(fact)


def refuse_of_record(fact: Model) -> None:
    if not isinstance(fact, Reading | Event):
        return
    if fact.records.filter(voided_at=None).exists():
        raise Refused(
            "This came from a record of work. Correct that record, and this "
            "changes too."
        )


def refuse_stale(seen: str, now: str, typed: str) -> None:
    if seen != now:
        raise Refused(
            f"Someone changed this meanwhile. It now says: {now}. You typed: "
            f"{typed}. Open it again and correct the new version."
        )


def _unchanged_kept(
    old: Mapping[str, str], values: Mapping[str, Decimal]
) -> dict[str, str]:
    """42310.0 is what 42310 was: an unchanged figure keeps its digits."""
    return {
        meter: old[meter]
        if meter in old and Decimal(old[meter]) == value
        else str(value)
        for meter, value in values.items()
    }


def event_in_words(event: Event, rig: Rig) -> str:
    """`wheel off, 404,000 mi, on 4 May 2026, at LF: by the roadside`"""
    units = {meter.kind: meter.unit for meter in rig.meters.all()}
    figures = [
        show(Decimal(value), units.get(kind, ""))
        for kind, value in sorted(event.values.items())
    ]
    day = f"on {day_words(event.on)}"
    words = ", ".join([event.kind.replace("_", " "), *figures, day])
    if event.places:
        words += f", at {', '.join(event.places)}"
    return f"{words}: {event.note}" if event.note else words
