"""A part that has been on several rigs: its own use, and what it carries along.

Its distance and hours are the sum over the spans in which it was fitted, by the meters
of the rigs it was on. Days off any rig count for its age alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from maintenance.core.dates import InUse
from maintenance.core.facts import WHEEL_DISTANCE, Carry, Unit, Values
from maintenance.core.meters import Track
from maintenance.core.units import convert

DISTANCE = "distance"  # any meter that counts no hours; hours go by their meter's name
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Fitted:
    """A span on one rig. `end` None: still there. The values are what the rig's meters
    showed on the first and the last day, where that is known."""

    start: date
    end: date | None
    tracks: Mapping[str, Track]
    in_use: InUse
    start_values: Values = field(default_factory=dict)
    end_values: Values = field(default_factory=dict)


def meter_for(tracks: Mapping[str, Track], what: str) -> str | None:
    """The name of the meter that counts `what`; None where the rig has none. A car that
    is towed, too, counts distance on its wheels."""
    if what != DISTANCE:
        return what if what in tracks else None
    if WHEEL_DISTANCE in tracks:
        return WHEEL_DISTANCE
    return next((name for name, track in tracks.items() if track.unit != "h"), None)


def used(
    spans: Sequence[Fitted], what: str, unit: Unit, *, since: date | None, until: date
) -> Decimal | None:
    """Distance or hours of a part from `since` (None: ever) to `until`, in `unit`.

    A replaced meter and one in another unit are reckoned with. None where a rig tells
    no distance, or no value for a day that is needed. Hours count only on rigs that
    have the meter.
    """
    total = ZERO
    for span in spans:
        start = span.start if since is None else max(span.start, since)
        end = until if span.end is None else min(span.end, until)
        if end < start:
            continue
        name = meter_for(span.tracks, what)
        if name is None:
            if what == DISTANCE:
                return None
            continue
        gone = _gone(span, name, start, end)
        if gone is None:
            return None
        total += convert(gone, span.tracks[name].unit, unit)
    return total


def _gone(span: Fitted, name: str, start: date, end: date) -> Decimal | None:
    low = _value(span.tracks[name], name, start, span.start, span.start_values)
    high = _value(span.tracks[name], name, end, span.end, span.end_values)
    if low is None or high is None:
        return None
    return max(high - low, ZERO)


def _value(
    track: Track, name: str, on: date, stated_on: date | None, stated: Values
) -> Decimal | None:
    """The true value on a day; the figure noted at fitting or removal comes first."""
    if on == stated_on and name in stated:
        return track.scale.true(stated[name], on)
    return track.value_on(on)


def days_in_use(spans: Sequence[Fitted], *, since: date, until: date) -> int:
    """Days on a rig that was in no stay."""
    days = 0
    for span in spans:
        start, end = max(span.start, since), min(span.end or until, until)
        if start < end:
            days += span.in_use.days(start, end)
    return days


def present_run(spans: Sequence[tuple[object, date, date | None]]) -> int:
    """Where the unbroken time on the present rig begins, as an index of `spans`, each a
    rig with its first and last day.

    A change of place on the same rig and day does not break it; a day in the shed does.
    """
    at = len(spans) - 1
    while at > 0:
        (before, _start, end), (rig, start, _end) = spans[at - 1], spans[at]
        if before != rig or end != start:
            break
        at -= 1
    return at


def carry(spans: Sequence[Fitted], run: int, *, since: date) -> Carry:
    """What a part had behind it since `since` when its present run began.

    `run` is the index of the run's first span. The used values are in the unit of the
    present rig's meters, by their names; one that is not known is left out.
    """
    here = spans[run]
    before, begun = spans[:run], here.start
    found: dict[str, Decimal] = {}
    for name, track in here.tracks.items():
        what = DISTANCE if track.unit != "h" else name
        gone = used(before, what, track.unit, since=since, until=begun)
        if gone is not None:
            found[name] = gone
    return Carry(
        on=begun,
        values=here.start_values,
        used=found,
        days_in_use=days_in_use(before, since=since, until=begun),
    )
