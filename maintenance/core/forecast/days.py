"""Which days count as use: stays, and trips whose distance is given.

Arrays run over days, index 0 being `first`. A stay's days run from its first day up to,
not including, its last.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from maintenance.core.facts import Stay, Trip, Unit

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_KM_PER_MILE = Decimal("1.609344")  # exact: international mile, 1959


def end_of(stay: Stay, as_of: date) -> date | None:
    """The stay's actual or planned end; None: not known (a passed plan is void)."""
    if stay.until is not None:
        return stay.until
    planned = stay.planned_until
    return planned if planned is not None and planned >= as_of else None


def stored_days(
    stays: Sequence[Stay], *, as_of: date, first: date, length: int
) -> Flags:
    """The days from `first` on that lie in a stay; one without an end never ends."""
    stored = np.zeros(length, dtype=np.bool_)
    for stay in stays:
        end = end_of(stay, as_of)
        begin = max((stay.start - first).days, 0)
        stop = length if end is None else min((end - first).days, length)
        if stop > begin:
            stored[begin:stop] = True
    return stored


def trip_distance(trip: Trip, unit: Unit) -> Decimal | None:
    """The trip's distance in `unit`; None when not given or the meter counts hours."""
    if trip.distance is None or trip.distance <= 0 or unit == "h":
        return None
    if trip.unit == unit:
        return trip.distance
    return (
        trip.distance * _KM_PER_MILE if unit == "km" else trip.distance / _KM_PER_MILE
    )


def given_use(
    trips: Sequence[Trip], *, unit: Unit, first: date, length: int
) -> tuple[Floats, Flags]:
    """Use per day that trips state, spread evenly over their days, and those days."""
    use = np.zeros(length)
    given = np.zeros(length, dtype=np.bool_)
    for trip in trips:
        distance = trip_distance(trip, unit)
        days = (trip.end - trip.start).days + 1
        begin = max((trip.start - first).days, 0)
        stop = min((trip.end - first).days + 1, length)
        if distance is None or stop <= begin:
            continue
        use[begin:stop] += float(distance) / days
        given[begin:stop] = True
    return use, given
