"""What becomes of notices after somebody said that a rig was not towed."""

from datetime import date, timedelta

from maintenance.core.facts import Calendar, MeterPoint, Rig, Window
from maintenance.core.meters import is_towed
from maintenance.core.timeline import RigTimeline

SILENT = timedelta(days=14)


def counts_towed(window: Window | None) -> bool:
    """Whether it is by the miles that the rig was towed; what it drove by itself is no
    matter of "not towed"."""
    closes = window.closes if window is not None else None
    return isinstance(closes, MeterPoint) and is_towed(closes.meter)


def silent_until(rig: Rig, as_of: date) -> date | None:
    """The first day on which an item that is due by expectation may be told of anew;
    None where nothing keeps it from being told. Source: the design, section 4.1.

    Since "not towed since" was said last, 14 days have to pass, a trip has to start (on
    that very day, too), or the odometer of a tow vehicle has to move.
    """
    said_on = max(
        (one.said_on for one in rig.not_towed if one.said_on <= as_of), default=None
    )
    if said_on is None or as_of >= said_on + SILENT:
        return None
    timeline = RigTimeline(rig, Calendar(), as_of)
    if any(said_on <= trip.start <= as_of for trip in timeline.towed_trips):
        return None
    return None if _moved_after(timeline, said_on) else said_on + SILENT


def _moved_after(timeline: RigTimeline, said_on: date) -> bool:
    """Whether a good reading of a tow vehicle later than that day shows more than was
    shown by then. Where nothing was, nobody knows that it stood."""
    for tow in timeline.tows.values():
        later = [on for on in tow.days if on > said_on]
        before = tow.value_on(said_on)
        if later and (before is None or tow.values[-1] > before):
            return True
    return False
