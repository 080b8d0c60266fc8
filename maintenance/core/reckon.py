"""The reckoning: one rig in, a standing per item out."""

from collections.abc import Mapping
from datetime import date

from maintenance.core.checks import check_rig
from maintenance.core.facts import Calendar, KeptHabit, Reckoning, Rig
from maintenance.core.output import reckoning_to_data, standing_to_data
from maintenance.core.standing import stand
from maintenance.core.timeline import RigTimeline

__all__ = ["reckon", "reckoning_to_data", "standing_to_data"]


def reckon(
    rig: Rig,
    *,
    calendar: Calendar,
    as_of: date,
    kept: Mapping[str, KeptHabit] | None = None,
) -> Reckoning:
    """Reckon where every item of a rig stands on `as_of`.

    Days are days in the household's time zone; values as meters showed them, in their
    unit. The items come out in the order given. `kept` is the `habits` of an earlier
    reckoning of the rig: it saves time and changes nothing. Raises `FactError`: a
    reading, completion, event, replacement or baseline after `as_of`; a trigger on a
    meter that the rig does not have or that counts something else. Rules: the design,
    section 4.
    """
    check_rig(rig, as_of)
    day = RigTimeline(rig, calendar, as_of, kept)
    items = tuple(stand(day, item) for item in rig.items)
    return Reckoning(as_of, day.meter_states(), items, day.habits())
