"""Trips: planned, changed, told of afterwards. A change renews every rig on the way."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Q

from maintenance.core.units import convert, show, show_number
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.ui.words import day_span_words, day_words

from .models import Meter, MeterKind, Reading, Rig, Stay, Trip
from .services import let_leave, refuse_future, store_reading
from .state import refuse_after_sale

MOST_A_DAY = {"mi": Decimal(1500), "km": Decimal(2400)}  # as for readings


@transaction.atomic
def plan_trip(
    rig: Rig, *, by: Member, today: date, left_on: date | None = None, **fields
) -> Trip:
    """A stay that nobody ended before it began ends on `left_on`."""
    require(by, Role.CREW)
    trip = Trip(rig=rig, **fields)
    _leave_storage(trip, by, today, left_on)
    check_trip(trip, today)
    give_readings(trip, by)
    if trip.end < today:
        trip.told_on = today  # entered when it was over: that is how it went
    trip.save()
    note_activity(by, "planned trip", f"{rig} from {day_words(trip.start)}")
    renew(trip.travelers, today)
    return trip


@transaction.atomic
def change_trip(
    trip: Trip,
    *,
    by: Member,
    today: date,
    confirmed: Collection[str] = (),
    questionable: Collection[str] = (),
    left_on: date | None = None,
    figures_of: str = "",
    **fields,
) -> Trip:
    """`figures_of` (`FIGURES_OF`) says what becomes of the odometer's figures where
    another vehicle drives now. `confirmed` and `questionable` name those (`hitched_at`,
    `unhitched_at`) that are right for sure, or that count nowhere."""
    require(by, Role.CREW)
    before, driver = trip.travelers, trip.driver
    for name, value in fields.items():
        setattr(trip, name, value)
    if trip.driver != driver and trip.hitched_at is not None:
        _settle_figures(trip, driver, figures_of)
    _leave_storage(trip, by, today, left_on)
    check_trip(trip, today, questionable)
    give_readings(trip, by, confirmed, questionable)
    trip.save()
    note_activity(by, "changed trip", f"{trip.rig} from {day_words(trip.start)}")
    renew([*before, *trip.travelers], today)
    return trip


THEIRS, MOVED, WRONG = "theirs", "moved", "wrong"
FIGURES_OF = (THEIRS, MOVED, WRONG)


def figures_question(trip: Trip, old: Rig | None) -> str:
    figures = (trip.hitched_at, trip.unhitched_at)
    low, high = (show_number(one or Decimal(0)) for one in figures)
    return (
        f"{low} and {high} are saved as {old}'s odometer readings. You're "
        "changing the tow vehicle: whose are they?"
    )


def _settle_figures(trip: Trip, old: Rig | None, figures_of: str) -> None:
    """They stay readings of the vehicle that drove before, go along to the one that
    drives now, or were wrong. Nobody is guessed."""
    if figures_of not in FIGURES_OF:
        raise Refused(figures_question(trip, old), field="tow_vehicle")
    if figures_of == MOVED:
        if odometer_of(trip.driver) is None:
            raise Refused("It has no odometer. Leave these blank.", field="tow_vehicle")
        return
    if figures_of == WRONG:
        Reading.objects.filter(pk__in=trip.reading_ids).update(withdrawn=True)
    trip.start_reading = trip.end_reading = None
    trip.hitched_at = trip.unhitched_at = None


def tell_trip(trip: Trip, *, by: Member, today: date, **fields) -> Trip:
    """How it went: its real last day, with the odometer's figures or the distance."""
    end = fields["end"]
    refuse_future(end, today, "end")
    return change_trip(trip, by=by, today=today, told_on=today, **fields)


@transaction.atomic
def cancel_trip(trip: Trip, *, by: Member, today: date) -> None:
    require(by, Role.CREW)
    if trip.start <= today:
        raise Refused("This trip has begun. Change its days instead.")
    note_activity(by, "canceled trip", f"{trip.rig} from {day_words(trip.start)}")
    travelers = trip.travelers
    trip.delete()
    renew(travelers, today)


def renew(rigs: Iterable[Rig], today: date) -> None:
    for rig in {rig.pk: rig for rig in rigs}.values():
        inputs_changed.send(
            sender=Rig, household=rig.household, rig_ids=[rig.pk], as_of=today
        )


def _leave_storage(trip: Trip, by: Member, today: date, left_on: date | None) -> None:
    if trip.end >= trip.start:
        for rig in trip.travelers:
            refuse_after_sale(rig, trip.end, "end")
            let_leave(rig, by=by, today=today, begins=trip.start, left_on=left_on)


# --- what is refused ------------------------------------------------------------------


def check_trip(trip: Trip, today: date, questionable: Collection[str] = ()) -> None:
    if trip.end < trip.start:
        raise Refused(
            "The last day is before the first. Enter a later last day.", field="end"
        )
    if trip.rig in (trip.tow_vehicle, trip.towed_car):
        raise Refused("A rig can't tow itself. Choose another.", field="tow_vehicle")
    _check_odometer(trip, today, questionable)
    _check_distance(trip)
    known = Trip.objects.filter(pk=trip.pk).first()
    for rig in trip.travelers:
        before = known if known is not None and rig in known.travelers else None
        for stay in rig.stays.filter(withdrawn=False).order_by("start"):
            # What met in old data already does not keep the trip from being put right.
            if _meets(stay, trip) and not (before and _meets(stay, before)):
                raise Refused(_in_the_way(rig, stay, trip), field="start")


def _meets(stay: Stay, trip: Trip) -> bool:
    return stay.start < trip.end and trip.start < stay.known_end


def _check_odometer(trip: Trip, today: date, questionable: Collection[str]) -> None:
    """Both figures, or none; with both the distance is theirs, unless one of them is
    questionable."""
    start, end = trip.hitched_at, trip.unhitched_at
    if start is None and end is None:
        return
    if start is None or end is None:
        raise Refused("Enter both odometer figures, or neither.", field="unhitched_at")
    if questionable:
        return
    if end < start:
        raise Refused(
            "The odometer is lower at the end than at the start. Check both.",
            field="unhitched_at",
        )
    if trip.start > today:
        raise Refused(
            "This trip hasn't started yet. Enter the odometer afterwards.",
            field="hitched_at",
        )
    meter = odometer_of(trip.driver)
    unit = meter.unit if meter else trip.unit
    if trip.off is not None and trip.off > end - start:
        raise Refused(
            f"That's more than the whole trip, {show(end - start, unit)}. Enter less.",
            field="off",
        )
    gone = end - start - (trip.off or 0 if trip.rig.is_trailer else 0)
    trip.distance = convert(gone, unit, trip.unit).quantize(Decimal("0.1"))


def _check_distance(trip: Trip) -> None:
    days = (trip.end - trip.start).days + 1
    most = days * MOST_A_DAY[trip.unit]
    span = {
        "least": show(Decimal(1), trip.unit),
        "most": show(most, trip.unit),
        "days": days,
    }
    if trip.distance is None:
        raise Refused(
            (
                f"How far will it be? Enter a guess, from {span['least']} to "
                f"{span['most']}."
            ),
            field="distance",
        )
    if not 1 <= trip.distance <= most:
        raise Refused(
            (
                f"{show(trip.distance, trip.unit)} can't be right. For a trip "
                f"of {span['days']} days, enter {span['least']} to "
                f"{span['most']}."
            ),
            field="unhitched_at" if trip.hitched_at is not None else "distance",
        )


def _in_the_way(rig: Rig, stay: Stay, trip: Trip) -> str:
    """Both named, and the ways out."""
    until = stay.ended_on or stay.planned_until
    stored = {
        "rig": rig,
        "trip": trip.title or "this trip",
        "place": f" ({stay.place})" if stay.place else "",
        "since": day_words(stay.start),
        "start": day_words(trip.start),
        "days": day_span_words(trip.start, trip.end),
    }
    if until is None:
        return (
            f"{stored['rig']} is in storage from {stored['since']}"
            f"{stored['place']} with no end date, and {stored['trip']} is "
            f"{stored['days']}. End that storage by {stored['start']}, "
            "under Storage."
        )
    return (
        f"{stored['rig']} is in storage {day_span_words(stay.start, until)}"
        f"{stored['place']}, and {stored['trip']} is {stored['days']}. "
        f"Start on {day_words(until)} or later, or end that storage by "
        f"{stored['start']}, under Storage."
    )


# --- readings of the odometer ---------------------------------------------------------


def odometer_of(rig: Rig | None) -> Meter | None:
    if rig is None:
        return None
    return rig.meters.filter(kind=MeterKind.ODOMETER).first()


def give_readings(
    trip: Trip,
    by: Member,
    confirmed: Collection[str] = (),
    questionable: Collection[str] = (),
) -> None:
    """The figures are readings of the vehicle that drives; changed ones take the place
    of those given before."""
    meter = odometer_of(trip.driver)
    for name, slot, on in (
        ("hitched_at", "start_reading", trip.start),
        ("unhitched_at", "end_reading", trip.end),
    ):
        value: Decimal | None = getattr(trip, name)
        before: Reading | None = getattr(trip, slot)
        sure, is_open = name in confirmed, name in questionable
        same = before and (before.meter, before.on, before.value) == (meter, on, value)
        if same and not (sure or is_open):
            continue
        if before is not None:
            Reading.objects.filter(pk=before.pk).update(withdrawn=True)
            setattr(trip, slot, None)
        if meter is not None and value is not None:
            made = store_reading(
                meter, by=by, on=on, value=value, confirmed=sure, questionable=is_open
            )
            setattr(trip, slot, made)


# --- trips of one vehicle at once -----------------------------------------------------


@dataclass(frozen=True, slots=True)
class Overlap:
    """Another trip of the same vehicle at the same time, or over the same miles.

    `together` is what both count for, `apart` the sum of the two; None where they meet
    by their days alone.
    """

    other: Trip
    together: Decimal | None = None
    apart: Decimal | None = None
    unit: str = ""


def overlaps_of(trip: Trip) -> list[Overlap]:
    """Where the vehicle that drives is said to have been on two trips at once."""
    if trip.driver is None:
        return []
    driver = trip.driver.pk
    others = (
        Trip.objects.filter(Q(rig=driver) | Q(tow_vehicle=driver), withdrawn=False)
        .exclude(pk=trip.pk)
        .select_related("rig", "tow_vehicle", "start_reading", "end_reading")
        .order_by("start", "pk")
    )
    found = (_overlap(trip, other) for other in others)
    return [one for one in found if one is not None]


def _overlap(trip: Trip, other: Trip) -> Overlap | None:
    one, two = trip.odometer_span, other.odometer_span
    if one and two:
        shared = min(one[1], two[1]) - max(one[0], two[0])
        if shared > 0:
            apart = (one[1] - one[0]) + (two[1] - two[0])
            meter = odometer_of(trip.driver)
            unit = meter.unit if meter else trip.unit
            return Overlap(other, apart - shared, apart, unit)
    if trip.start < other.end and other.start < trip.end:
        return Overlap(other)
    return None


def overlap_words(trip: Trip) -> Iterator[str]:
    """What to say of each, both trips named."""
    for one in overlaps_of(trip):
        names = {
            "car": trip.driver,
            "this": _named(trip),
            "other": _named(one.other),
        }
        if one.together is None:
            yield (
                f"{names['car']} would be on two trips at once: "
                f"{names['this']} and {names['other']}. Change the dates of "
                "one."
            )
        else:
            yield (
                f"{names['car']}'s odometer is entered twice for the same "
                f"miles: {names['this']} and {names['other']}. Together they "
                f"count {show(one.together, one.unit)}, not "
                f"{show(one.apart or Decimal(0), one.unit)}. Correct the one that "
                "is wrong."
            )


def _named(trip: Trip) -> str:
    days = day_span_words(trip.start, trip.end)
    words = f"“{trip.title or 'trip'}” of {trip.rig}, {days}"
    span = trip.odometer_span
    if span is None:
        return words
    return f"{words} ({show_number(span[0])} to {show_number(span[1])})"


def upcoming(trips: Iterable[Trip], today: date) -> list[Trip]:
    """Those that are not over, the next first."""
    return sorted((t for t in trips if t.end >= today), key=lambda t: (t.start, t.pk))


def nobody_told(trip: Trip, today: date) -> bool:
    """It is over, and how it went has not been said."""
    return (
        trip.end < today
        and trip.told_on is None
        and trip.unhitched_at is None
        and trip.end > today - timedelta(days=90)
    )
