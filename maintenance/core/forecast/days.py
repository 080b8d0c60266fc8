"""Which days count as use: stays, trips whose distance is given.

Arrays run over days, index 0 being `first`. A stay's days run from its first day up to,
not including, its last.
"""

from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from maintenance.core.dates import stay_end
from maintenance.core.facts import Stay, Trip, Unit
from maintenance.core.units import convert

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

YEAR = 365.2425  # days; mean Gregorian year


def stored_days(
    stays: Sequence[Stay], *, as_of: date, first: date, length: int
) -> Flags:
    """The days from `first` on that lie in a stay; one without an end never ends."""
    stored = np.zeros(length, dtype=np.bool_)
    for stay in stays:
        end = stay_end(stay, as_of)
        begin = max((stay.start - first).days, 0)
        stop = length if end is None else min((end - first).days, length)
        if stop > begin:
            stored[begin:stop] = True
    return stored


def trip_distance(trip: Trip, unit: Unit) -> float | None:
    """The trip's distance in `unit`; None when not given or the meter counts hours."""
    if trip.distance is None or trip.distance <= 0 or unit == "h":
        return None
    return float(convert(trip.distance, trip.unit, unit))


def given_use(
    trips: Sequence[Trip], *, unit: Unit, first: date, length: int
) -> tuple[Floats, Flags, Flags]:
    """Use per day that trips state, spread evenly over their days (both ends count);
    the days whose use is stated; and all days of trips."""
    use = np.zeros(length)
    stated, traveled = np.zeros((2, length), dtype=np.bool_)
    for trip in trips:
        days = (trip.end - trip.start).days + 1
        begin = max((trip.start - first).days, 0)
        stop = min((trip.end - first).days + 1, length)
        if stop <= begin:
            continue
        traveled[begin:stop] = True
        distance = trip_distance(trip, unit)
        if distance is not None:
            use[begin:stop] += distance / days
            stated[begin:stop] = True
    return use, stated, traveled


def days_of_year(first: date, length: int) -> Ints:
    """For each day its place in the year, 0 to 365."""
    place = (first.toordinal() + np.arange(length)) % YEAR
    return place.astype(np.int64)
