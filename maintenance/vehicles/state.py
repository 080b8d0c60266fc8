"""The one state of a rig on a day: in use, in storage, on a trip, sold."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from django.db.models import Q, QuerySet

from maintenance.households.refusals import Refused
from maintenance.ui.words import day_words

from .models import Reading, Rig, Stay, Trip

StateName = Literal["in_use", "in_storage", "on_trip", "sold"]


@dataclass(frozen=True, slots=True)
class RigState:
    """`stay` and `trip` are those that it is in."""

    name: StateName
    stay: Stay | None = None
    trip: Trip | None = None


def state_of(rig: Rig, on: date, trips: Collection[Trip] | None = None) -> RigState:
    """What began last rules, on a day of handing over, too. So a stay that nobody ended
    gives way to the trip or the stay that came after it. `trips`: those with it, where
    they are loaded already."""
    if rig.sold_on is not None and on >= rig.sold_on:
        return RigState("sold")
    stay = max(
        (one for one in rig.stays.all() if one.start <= on and not one.withdrawn),
        key=lambda one: (one.start, one.pk),
        default=None,
    )
    if trips is None:
        trips = (*rig.trips.all(), *rig.tows.all(), *rig.towed_on.all())
    trip = max(
        (one for one in trips if one.start <= on and not one.withdrawn),
        key=lambda one: (one.start, one.pk),
        default=None,
    )
    if trip is not None and (stay is None or _came_after(stay, trip)):
        return RigState("on_trip", trip=trip) if on <= trip.end else RigState("in_use")
    if stay is not None and stay.is_open(on):
        return RigState("in_storage", stay=stay)
    return RigState("in_use")


STATE_ROWS = ("stays", "trips", "tows", "towed_on")  # what `state_of` reads of a rig


def _came_after(stay: Stay, trip: Trip) -> bool:
    """A trip that ends on the day the stay begins led to it."""
    return stay.start <= trip.start and stay.start < trip.end


@dataclass(frozen=True, slots=True)
class LeftOpen:
    """A stay that nobody ended, and the day on which something began after it."""

    stay: Stay
    begins: date
    trip: Trip | None

    @property
    def question(self) -> str:
        what = f"“{self.trip}”" if self.trip is not None else "another time in storage"
        return (
            f"{self.stay.rig} has been in storage since {day_words(self.stay.start)}, "
            f"and {what} began on {day_words(self.begins)}. When did it leave?"
        )


def stays_left_open(rigs: Iterable[Rig], today: date) -> list[LeftOpen]:
    """In old data; what is entered now asks at once."""
    stays = [
        stay
        for rig in rigs
        if rig.sold_on is None
        for stay in rig.stays.all()
        if stay.start <= today and stay.ended_on is None and not stay.withdrawn
    ]
    stays.sort(key=lambda stay: (stay.start, stay.pk))
    return [one for stay in stays if (one := _left_open(stay, today)) is not None]


def _left_open(stay: Stay, today: date) -> LeftOpen | None:
    """None where nothing began after a stay that nobody ended."""
    rig = stay.rig
    others = [
        LeftOpen(stay, one.start, None)
        for one in rig.stays.all()
        if (stay.start, stay.pk) < (one.start, one.pk) and one.start <= today
        if not one.withdrawn
    ]
    trips = [
        LeftOpen(stay, one.start, one)
        for one in (*rig.trips.all(), *rig.tows.all(), *rig.towed_on.all())
        if one.start <= today and not one.withdrawn and _came_after(stay, one)
    ]
    return min([*others, *trips], key=lambda one: one.begins, default=None)


def refuse_after_sale(rig: Rig, on: date, field: str = "on") -> None:
    if rig.sold_on is not None and on > rig.sold_on:
        raise Refused(
            f"{rig} was sold on {day_words(rig.sold_on)}. Enter that day or an earlier "
            "one, or undo the sale on its page.",
            field=field,
        )


def refuse_sale_before(rig: Rig, on: date, today: date) -> None:
    """Refused where something is kept of a later day: the rig was not sold by then."""
    later = {"on__gt": on, "on__lte": today, "withdrawn": False}
    begun = {"start__gt": on, "start__lte": today, "withdrawn": False}
    days = [
        *Reading.objects.filter(meter__rig=rig, **later).values_list("on", flat=True),
        *rig.events.filter(**later).values_list("on", flat=True),
        *rig.stays.filter(**begun).values_list("start", flat=True),
        *trips_with(rig).filter(**begun).values_list("start", flat=True),
    ]
    if days:
        raise Refused(
            f"{rig} was still yours on {day_words(max(days))}, by its Mileage and "
            "events. Enter that day or a later one, or correct that entry.",
            field="on",
        )


def trips_with(rig: Rig) -> QuerySet[Trip]:
    """Those on which it drove, towed or was towed."""
    part = Q(rig=rig) | Q(tow_vehicle=rig) | Q(towed_car=rig)
    return Trip.objects.filter(part)


def stay_left_open(rig: Rig, begins: date, today: date) -> Stay | None:
    """The stay that nobody ended, though something really began after it."""
    if begins > today:
        return None
    rows = rig.stays.filter(start__lt=begins, ended_on__isnull=True, withdrawn=False)
    return rows.order_by("start").last()


def refuse_until_it_left(stay: Stay, left_on: date | None, begins: date) -> date:
    """The day on which it left; refused with the question until somebody says it."""
    if left_on is None:
        due = stay.planned_until
        was = f" and was due out {day_words(due)}" if due is not None else ""
        raise Refused(
            f"{stay.rig} has been in storage since {day_words(stay.start)}{was}. "
            "When did it leave?",
            field="left_on",
        )
    if not stay.start <= left_on <= begins:
        raise Refused(
            f"Enter a day from {day_words(stay.start)} to {day_words(begins)}.",
            field="left_on",
        )
    return left_on
