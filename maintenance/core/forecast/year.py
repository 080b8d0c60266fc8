"""Where a day lies in a rig's year.

A season of use begins when a stay ends and is over when the next begins: the long drive
comes right before storage, whether that is early or late in the year. So where stays
recur, days keep their place between the stays around them, not their date alone.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from maintenance.core.dates import stay_end
from maintenance.core.facts import Stay
from maintenance.core.forecast.days import YEAR, Floats, Ints

HALF_MONTHS = 24
LONG = 45  # days: a shorter stay does not part seasons
_LIKE = 60  # days by which a stay comes sooner or later and is still the usual one


@dataclass(frozen=True, slots=True)
class Year:
    """`days` (ordinals) are edges of stays; `off` the days from there to the usual."""

    days: tuple[float, ...] = (0.0,)
    off: tuple[float, ...] = (0.0,)

    def half_months(self, first: date, length: int) -> tuple[Ints, Ints, Floats]:
        """For each day from `first` on the half months it lies between, and its share
        of the second."""
        days = first.toordinal() + np.arange(length)
        usual = days + np.interp(days, self.days, self.off)
        place = usual % YEAR * (HALF_MONTHS / YEAR)
        left = place.astype(np.int64) % HALF_MONTHS
        return left, (left + 1) % HALF_MONTHS, place - np.floor(place)


def year_between(stays: Sequence[Stay], as_of: date) -> Year:
    """The year told from long stays, entered or planned; without any the calendar's."""
    spans = [(stay.start, stay_end(stay, as_of)) for stay in stays]
    begun = [
        (start.toordinal(), end.toordinal())
        for start, end in sorted(spans, key=lambda span: span[0])
        if end is not None and start <= as_of and (end - start).days >= LONG
    ]
    if not begun:
        return Year()
    into, out = (_usual([span[edge] for span in begun]) for edge in (0, 1))
    between = YEAR - (out - into)
    if not LONG < between < YEAR:
        return Year()
    days: list[float] = []
    off: list[float] = []
    for start, end in sorted(spans, key=lambda span: span[0]):
        turn = round((start.toordinal() - into) / YEAR) * YEAR
        edges = list(_edges(start, end, into + turn, out + turn))
        if edges and (not days or edges[0][0] > days[-1]):
            days += [day for day, _ in edges]
            off += [usual - day for day, usual in edges]
    if not days:
        return Year()
    # The seasons before the first and after the last that are known are usual ones.
    return Year((days[0] - between, *days, days[-1] + between), (0.0, *off, 0.0))


def _usual(edges: Sequence[int]) -> float:
    """The middle one of the days of the year, next to the last."""
    last = edges[-1]
    return last + float(
        np.median((np.array(edges) - last + YEAR / 2) % YEAR - YEAR / 2)
    )


def _edges(
    start: date, end: date | None, into: float, out: float
) -> Iterator[tuple[float, float]]:
    """The days on which a stay begins and ends, and the usual ones; none if unlike."""
    begins = float(start.toordinal())
    ends = max(out, begins + 1) if end is None else float(end.toordinal())
    if abs(begins - into) <= _LIKE and abs(ends - out) <= _LIKE and ends > begins:
        yield begins, into
        yield ends, out
