"""Two orders: that on Due (what makes a rig unfit to travel, then safety, then the
rest), and that of a run of work, in which some jobs need others first."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from maintenance.core.facts import Item, Standing

NOT_ON_DUE = 99
UNFIT = 0


def due_rank(item: Item, standing: Standing) -> int:
    """The place of an item's group on Due, 0 first; `NOT_ON_DUE` when not listed.

    Unfit to travel; overdue safety; other overdue; due safety; safety without a record;
    due; other without a record; soon.
    """
    if standing.unfit_by:
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


def needs_order(keys: Iterable[str], needs: Mapping[str, Sequence[str]]) -> list[str]:
    """The keys, each once, so that each comes after all that it needs first.

    They stay in the order given as far as that goes: what a key needs is drawn ahead to
    just before it, in the order in which `needs` names it. What is needed but not among
    the keys is left out, and still stands between those before and after it.

    `needs` has no circle (the library is checked when it is read); in one, the order of
    its keys would be that of where it is entered.
    """
    wanted = dict.fromkeys(keys)
    met: set[str] = set()
    ordered: list[str] = []

    def place(key: str) -> None:
        if key in met:
            return
        met.add(key)
        for first in needs.get(key, ()):
            place(first)
        ordered.append(key)

    for key in wanted:
        place(key)
    return [key for key in ordered if key in wanted]
