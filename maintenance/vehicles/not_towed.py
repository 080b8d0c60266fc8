"""What was towed where trips alone tell it: up to which day that is known, and that the
rig was not towed since, as somebody says."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from maintenance.core import facts, notices
from maintenance.core.timeline import RigTimeline
from maintenance.core.units import show
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import MeterKind, NotTowed, Rig, Trip
from .queries import use_facts
from .services import refuse_future
from .state import refuse_after_sale
from .trips import renew


def told_by_trips(rig: Rig) -> bool:
    """Whether nothing but trips tells how far the rig was towed: a trailer without a
    hub meter, a car of which the odometer does not count while it is towed."""
    if not rig.is_trailer:
        return _as_car(rig).exists()
    meter = rig.meters.filter(kind=MeterKind.TOWED).first()
    return meter is not None and meter.by_trips


def _as_car(rig: Rig) -> QuerySet[Trip]:
    return rig.towed_on.filter(withdrawn=False, towed_car_counts=False)


def told_trips(rig: Rig) -> QuerySet[Trip]:
    """Those of which it was said how far the rig was towed."""
    trips = rig.trips.filter(withdrawn=False) if rig.is_trailer else _as_car(rig)
    return trips.exclude(told_on=None, unhitched_at=None)


def towed_since(rig: Rig) -> date:
    """The last day of which it is known how far the rig was towed."""
    ends = told_trips(rig).values_list("end", flat=True)
    said = rig.not_towed.filter(withdrawn=False).values_list("said_on", flat=True)
    return max([*ends, *said], default=rig.in_service_on)


@transaction.atomic
def say_not_towed(rig: Rig, *, by: Member, today: date, since: date) -> NotTowed:
    """It is said today; said twice, it is kept once."""
    require(by, Role.CREW)
    rig = Rig.objects.select_for_update().get(pk=rig.pk)
    said = NotTowed(rig=rig, said_on=today, since=since, entered_by=by)
    check_not_towed(said, today)
    before = rig.not_towed.filter(said_on=today, since=since, withdrawn=False).first()
    if before is not None:
        return before
    said.save()
    note_activity(by, "entered not towed", f"{rig}: {not_towed_words(said)}")
    renew([rig], today)
    return said


def check_not_towed(said: NotTowed, today: date) -> None:
    """Refused where a meter tells it, and for days on which it was towed."""
    rig = said.rig
    if not told_by_trips(rig):
        raise Refused(f"{rig}'s miles don't come from trips, so there's no need.")
    refuse_future(said.said_on, today, "said_on")
    refuse_after_sale(rig, said.said_on, "said_on")
    if said.since > said.said_on:
        raise Refused(
            f"Enter {day_words(said.said_on)} or an earlier day.", field="since"
        )
    towed = told_trips(rig).filter(end__gt=said.since, end__lte=said.said_on)
    trip = towed.order_by("end", "pk").last()
    if trip is not None:
        raise Refused(
            f"“{trip}” was closed out for {day_words(trip.end)}, so it was "
            "towed then. Enter that day or a later one, or correct that trip.",
            field="since",
        )


def not_towed_words(said: NotTowed) -> str:
    return f"not towed since {day_words(said.since)}, as of {day_words(said.said_on)}"


def towed_words(day: RigTimeline) -> str:
    """“500 mi since its first trip on 1 Mar 2026, as of 4 May 2026”."""
    track = day.tracks[facts.TOWED]
    begun = [trip.start for trip in day.rig.trips if trip.start <= day.as_of]
    if not track.known or track.known_on is None or not begun:
        return "no trip closed out yet"
    return (
        f"{show(track.known, track.unit, places=0)} since its first trip on "
        f"{day_words(min(begun))}, as of {day_words(track.known_on)}"
    )


# --- asking ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TowedSince:
    """The question whether a rig was towed since the last day of which it is known."""

    rig: Rig
    since: date

    @property
    def question(self) -> str:
        return f"{self.rig}: towed since {day_words(self.since)}?"


def asks_towed(rig: Rig, today: date, told: bool | None = None) -> TowedSince | None:
    """None where a meter tells it or it is known up to today, or of a car that was not
    towed yet. `told`: whether trips alone tell it, where that is known already."""
    told = told_by_trips(rig) if told is None else told
    if rig.sold_on is not None or not told:
        return None
    if not rig.is_trailer and not _as_car(rig).filter(start__lt=today).exists():
        return None
    since = towed_since(rig)
    return TowedSince(rig, since) if since < today else None


def silent_until(rigs: Iterable[int], today: date) -> dict[int, date]:
    """Rig id -> until when nothing that is due because it was probably towed is told of
    anew or asked about, of those that were not, as somebody said just now."""
    latest = NotTowed.objects.filter(
        rig__in=set(rigs), withdrawn=False, said_on__gt=today - notices.SILENT
    )
    found = {row.rig_id: row.rig for row in latest.select_related("rig")}
    if not found:
        return {}
    known = use_facts(found.values(), today)
    days = {pk: notices.silent_until(known[pk].without_items(), today) for pk in found}
    return {pk: day for pk, day in days.items() if day is not None}
