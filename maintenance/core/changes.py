"""The next day on which an item may stand otherwise, though nothing is entered."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from maintenance.core import fitness
from maintenance.core.dates import DAY
from maintenance.core.facts import Item
from maintenance.core.meters import is_towed
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import kinds_of
from maintenance.core.triggers.windows import (
    DayWindow,
    MissingInput,
    OpenWindow,
    ValueWindow,
)

# What a forecast moves from one day to the next when nothing is entered.
_STEADY_DAYS = 2
_STEADY_SHARE = 16


def changes_on(
    day: RigTimeline, item: Item, found: Iterable[OpenWindow | MissingInput]
) -> date:
    """The first day after `day.as_of` on which the standing of an item may be another,
    if nothing is entered; `date.max`: never.

    `found` is what its triggers give. Early rather than late: until that day the
    standing, its mark *expected* and the windows are the same; which of several windows
    of one standing governs may differ, where it rests on a forecast.
    """
    days = [*day.turns]
    days += fitness.turns(item)
    for kind in kinds_of(item):
        days += kind.turns(day)
    for one in found:
        days += _of_window(day, item, one)
    return min((one for one in days if one > day.as_of), default=date.max)


def _of_window(
    day: RigTimeline, item: Item, one: OpenWindow | MissingInput
) -> Iterator[date]:
    if isinstance(one, DayWindow):
        ahead = day.calendar.horizon_days
        if one.interval_days is not None:
            ahead = min(ahead, one.interval_days // 3)
        yield one.opens - timedelta(days=ahead)
        yield one.opens
        yield one.closes + DAY
    elif isinstance(one, ValueWindow):
        yield from _of_values(day, item, one)
    elif one.since is not None:
        yield one.since + DAY


def _of_values(day: RigTimeline, item: Item, window: ValueWindow) -> Iterator[date]:
    track = day.tracks[window.meter]
    begin = day.expected_since(window.meter, window.opens, window.since)
    if item.safety:  # a safety check may come to be expected the day after
        yield day.silent_from(window.meter, begin, window.since) + DAY
    if track.known is None or track.known >= window.opens:
        return
    opens = day.use(window.meter, begin).reach(window.opens)
    if opens.likely is not None:
        into_view = opens.likely - timedelta(days=day.calendar.horizon_days)
        yield _look_again(day, window.meter, into_view)
    if item.safety and opens.early is not None:
        yield _look_again(day, window.meter, opens.early)


def _look_again(day: RigTimeline, meter: str, edge: date) -> date:
    """When to look again for an edge that is only likely.

    The estimate moves while nothing is entered: by rounding, and where the rig stays in
    storage, or could by its habit, or is towed, by up to a day each day.
    """
    left = (edge - day.as_of).days
    if day.rig.stays or is_towed(meter):
        return day.as_of + timedelta(days=max(abs(left) // 2, 1))
    if left <= -_STEADY_DAYS:
        return date.max
    sure = left - _STEADY_DAYS - left // _STEADY_SHARE
    return day.as_of + timedelta(days=max(sure, 1))
