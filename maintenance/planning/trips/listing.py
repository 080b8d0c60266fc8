"""The trips of a household: ahead, and past."""

from dataclasses import dataclass
from datetime import date

from maintenance.households.models import Household
from maintenance.vehicles.models import Trip
from maintenance.vehicles.trips import nobody_told, upcoming

MOST_PAST = 100


@dataclass(frozen=True, slots=True)
class PastTrip:
    trip: Trip
    ask: bool  # how it went

    @property
    def year(self) -> int:
        return self.trip.end.year


@dataclass(frozen=True, slots=True)
class TripLists:
    ahead: list[Trip]
    past: list[PastTrip]

    def __bool__(self) -> bool:
        return bool(self.ahead or self.past)


def trip_lists(household: Household, today: date) -> TripLists:
    """In one query; the next trip first, then the last one."""
    rows = Trip.objects.filter(
        rig__household=household, rig__sold_on__isnull=True, withdrawn=False
    )
    rows = rows.select_related("rig", "tow_vehicle", "towed_car").order_by("-end")
    ahead = list(rows.filter(end__gte=today))
    past = rows.filter(end__lt=today)[:MOST_PAST]
    return TripLists(
        ahead=upcoming(ahead, today),
        past=[PastTrip(trip, nobody_told(trip, today)) for trip in past],
    )
