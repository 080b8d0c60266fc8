"""What makes a rig unfit to travel, told once more on the eve of its trip."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import QuerySet

from maintenance.core.dates import DAY
from maintenance.findings.fitness import fitness_of
from maintenance.households.models import Household
from maintenance.vehicles.models import Trip

from .. import queries
from ..models import TripNotice


def raise_of_trips(
    household: Household, *, today: date
) -> tuple[list[TripNotice], date]:
    """The rows that are to go out at once, and the next day that is an eve.

    A trip planned for today, or the day after the eve on which nobody looked, is told
    of just the same: nobody has left yet.
    """
    trips = list(_to_come(household, today))
    unfit = _unfit(household, (one for one in trips if _is_near(one, today)), today)
    rows = [
        TripNotice(trip=trip, start=trip.start, member_id=person.person)
        for trip in unfit
        for person in queries.people_of(household)
        if person.drives
    ]
    # Raised by two at once, a notice is one row all the same.
    TripNotice.objects.bulk_create(rows, ignore_conflicts=True)
    waiting = TripNotice.objects.filter(trip__in=unfit, digest__isnull=True)
    eves = (one.start - DAY for one in trips if not _is_near(one, today))
    return list(waiting.order_by("pk")), min(eves, default=date.max)


def _to_come(household: Household, today: date) -> QuerySet[Trip]:
    rows = Trip.objects.filter(rig__household=household, withdrawn=False)
    return rows.filter(start__gte=today, told_on=None).select_related(
        "rig", "tow_vehicle", "towed_car"
    )


def _is_near(trip: Trip, today: date) -> bool:
    return trip.start - DAY <= today


def _unfit(household: Household, trips: Iterable[Trip], today: date) -> list[Trip]:
    """Those of the trips on which a rig would travel that is not fit to."""
    trips = list(trips)
    rigs = {rig.pk: rig for trip in trips for rig in trip.travelers}
    if not rigs:
        return []
    found = fitness_of(household, today, rigs.values())
    stopped = {pk for pk, one in found.items() if not one.is_fit}
    return [one for one in trips if stopped & {rig.pk for rig in one.travelers}]


def drop_fit(
    rows: Iterable[TripNotice], household: Household, *, today: date
) -> Sequence[TripNotice]:
    """Those whose trip is still to start that day with a rig that is unfit; the others
    go, so that they are told as new should their reason come back."""
    rows = list(rows)
    if not rows:
        return rows
    near = (one for one in _to_come(household, today) if _is_near(one, today))
    starts = {one.pk: one.start for one in _unfit(household, near, today)}
    holds = [row for row in rows if starts.get(row.trip_id) == row.start]
    gone = {row.pk for row in rows} - {row.pk for row in holds}
    TripNotice.objects.filter(pk__in=gone).delete()
    return holds
