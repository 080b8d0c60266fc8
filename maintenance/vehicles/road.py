"""What pulls a rig on a day: its odometer tells how far the rig has come."""

from datetime import date

from django.db.models import Q

from .models import Meter, MeterKind, Rig, Trip


def tow_meter_on(rig: Rig, on: date) -> Meter | None:
    """The odometer of what tows the rig on that day; None where it drives itself,
    stands, or what tows it has none."""
    trips = Trip.objects.filter(
        Q(rig=rig, tow_vehicle__isnull=False) | Q(towed_car=rig),
        start__lte=on,
        end__gte=on,
        withdrawn=False,
    ).select_related("rig", "tow_vehicle", "towed_car")
    trip = trips.order_by("start", "pk").last()
    if trip is None or trip.driver is None:
        return None
    return trip.driver.meters.filter(kind=MeterKind.ODOMETER).first()
