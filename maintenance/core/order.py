"""The order on Due: what makes a rig unfit to travel, then safety, then the rest."""

from collections.abc import Iterable
from datetime import date

from maintenance.core.facts import Item, Standing

NOT_ON_DUE = 99
UNFIT = 0


def due_rank(item: Item, standing: Standing) -> int:
    """The place of an item's group on Due, 0 first; `NOT_ON_DUE` when not listed.

    Unfit to travel (an item marked so, once overdue); overdue safety; other overdue;
    due safety; safety without a record; due; other without a record; soon.
    """
    if item.unfit and standing.standing == "overdue":
        return UNFIT
    groups = {
        ("overdue", True): 1,
        ("overdue", False): 2,
        ("due", True): 3,
        ("unknown", True): 4,
        ("due", False): 5,
        ("unknown", False): 6,
        ("soon", True): 7,
        ("soon", False): 7,
    }
    return groups.get((standing.standing, item.safety), NOT_ON_DUE)


def likely_close(standing: Standing) -> date:
    """The day its window closes or likely will; the last of all days without one."""
    if standing.window is not None and isinstance(standing.window.closes, date):
        return standing.window.closes
    likely = standing.forecast and standing.forecast.closes.likely
    return likely or date.max


def due_order(
    entries: Iterable[tuple[Item, Standing]],
) -> list[tuple[Item, Standing]]:
    """What is on Due, in its order; equal ones stay in the order given."""
    ranked = [(due_rank(*entry), likely_close(entry[1]), entry) for entry in entries]
    ranked.sort(key=lambda one: one[:2])
    return [entry for rank, _likely, entry in ranked if rank != NOT_ON_DUE]
