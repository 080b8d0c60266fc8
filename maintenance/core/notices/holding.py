"""How far a person may move a reminder: the reminder alone, never the work."""

from datetime import date

from maintenance.core.notices.cycles import likely_close
from maintenance.core.notices.values import ItemNow

LONGEST_HOLD = 30
# What touches safety may be slept on for a long weekend, and not past its window.
LONGEST_SAFETY_HOLD = 3


def longest_hold(item: ItemNow, *, as_of: date) -> int:
    """The most days, counted from `as_of`, by which a reminder of the item may be
    moved; at least 1.

    30; for a `safety` item 3, and no further than the day on which its window closes,
    or likely will. Where that day has passed, or none can be told while the item is
    due, a safety item comes again the next day.
    """
    if not item.safety:
        return LONGEST_HOLD
    closes = likely_close(item.standing)
    if closes is None:
        pressing = item.standing.standing in {"due", "overdue"}
        return 1 if pressing else LONGEST_SAFETY_HOLD
    return max(1, min(LONGEST_SAFETY_HOLD, (closes - as_of).days))
