"""The lap before a departure: what is looked at, what of it counts already, how long
the rest takes.

A trip has many departures; the lap is that of the next one. What was done on the day
of leaving or the day before counts; what a night can change must be of that very day.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from maintenance.core.dates import DAY
from maintenance.core.facts import Completion, Trip

COMPLETING = frozenset({"done", "serviceable", "held", "moved"})
YESTERDAY = 1 * DAY


def leaving_day(trip: Trip, as_of: date) -> date:
    """The next day, of those of the trip, on which it may move off."""
    return min(max(trip.start, as_of), trip.end)


def counts_for(
    done: Iterable[Completion], leaving: date, *, that_day: bool = False
) -> date | None:
    """The last day on which it was done that counts for this departure."""
    opens = leaving if that_day else leaving - YESTERDAY
    days = (one.on for one in done if one.outcome in COMPLETING)
    return max((on for on in days if opens <= on <= leaving), default=None)


@dataclass(frozen=True, slots=True)
class Look:
    """One look of the lap, of one rig; `covers` are those that it makes needless.
    `done_on`: it counts already."""

    rig: int
    key: str
    minutes: int
    covers: tuple[str, ...] = ()
    done_on: date | None = None


@dataclass(frozen=True, slots=True)
class Lap:
    """`minutes` of all its looks, `left` of those that do not count already."""

    looks: tuple[Look, ...]
    minutes: int
    left: int


def lap_of(looks: Iterable[Look]) -> Lap:
    """The looks in the order given, without those that another one covers."""
    every = tuple(looks)
    covered = {(one.rig, key) for one in every for key in one.covers}
    kept = tuple(one for one in every if (one.rig, one.key) not in covered)
    return Lap(
        kept,
        sum(one.minutes for one in kept),
        sum(one.minutes for one in kept if one.done_on is None),
    )
