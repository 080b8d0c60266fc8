"""Which readings can all be true: the largest set in which no meter runs back and none
runs faster than a rig can."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from maintenance.core.facts import Unit

# The most that a meter can gain in a day: 1,500 mi / 2,400 km, 24 h of running.
# Source: the design of this program (common practice; nobody drives farther in a day).
MOST_PER_DAY: dict[Unit, int] = {"mi": 1500, "km": 2400, "h": 24}


class Entry(NamedTuple):
    """A reading in true value. `order`: its place in the order of entering."""

    day: int  # ordinal
    value: Decimal
    order: int
    confirmed: bool = False


def can_follow(first: Entry, then: Entry, most: int) -> bool:
    """Whether both can be true, `then` lying on a later day."""
    gain = then.value - first.value
    return 0 <= gain <= most * (then.day - first.day)


def can_stand(entry: Entry, kept: Sequence[Entry], unit: Unit) -> bool:
    """Whether an entry can be true beside the kept ones, by day: those of the days next
    to its own, and that of its own day, from which it may differ by a day's most."""
    most = MOST_PER_DAY[unit]
    at = bisect_left(kept, entry.day, key=lambda one: one.day)
    then = bisect_right(kept, entry.day, key=lambda one: one.day)
    return (
        (at == 0 or can_follow(kept[at - 1], entry, most))
        and (then == len(kept) or can_follow(entry, kept[then], most))
        and all(abs(one.value - entry.value) <= most for one in kept[at:then])
    )


def consistent(entries: Sequence[Entry], unit: Unit) -> list[Entry]:
    """The largest set of readings that can all be true, by day.

    `entries` by day, one a day. Confirmed ones always stay, and the others have to fit
    the confirmed ones next to them. Of several largest sets it is the one with the
    reading entered first, then the one entered next, and so on. O(n log n).
    """
    most = MOST_PER_DAY[unit]
    if all(can_follow(a, b, most) for a, b in pairwise(entries)):
        return list(entries)
    kept: list[Entry] = []
    left: Entry | None = None
    between: list[Entry] = []
    for entry in entries:
        if entry.confirmed:
            kept += [*_best(between, left, entry, most), entry]
            left, between = entry, []
        else:
            between.append(entry)
    return kept + _best(between, left, None, most)


def _best(
    entries: Sequence[Entry], left: Entry | None, right: Entry | None, most: int
) -> list[Entry]:
    """The largest set between two confirmed readings."""
    return _largest(
        [
            entry
            for entry in entries
            if (left is None or can_follow(left, entry, most))
            and (right is None or can_follow(entry, right, most))
        ],
        most,
    )


def _largest(entries: Sequence[Entry], most: int) -> list[Entry]:
    """The heaviest chain of readings that can follow each other.

    Two readings agree when neither the value nor the slack (`most` a day, less the
    value) falls. So: go by value, and look for the heaviest chain with no more slack.
    A reading weighs one, plus a bit that is the higher the earlier it was entered: the
    weight of a chain is its length, then its early entries, and its bits name it.
    """
    count = len(entries)
    slack = {entry.order: most * entry.day - entry.value for entry in entries}
    ranks = sorted(slack.values())
    by_order = sorted(entry.order for entry in entries)
    bit = {order: 1 << (count - 1 - i) for i, order in enumerate(by_order)}
    best = [0] * (count + 1)  # best[i]: a tree of heaviest chains by rank of slack
    for entry in sorted(entries, key=lambda e: (e.value, slack[e.order])):
        rank = bisect_left(ranks, slack[entry.order]) + 1
        chain = _heaviest(best, rank) + (1 << count) + bit[entry.order]
        at = rank
        while at <= count:
            best[at] = max(best[at], chain)
            at += at & -at
    chosen = _heaviest(best, count)
    return [entry for entry in entries if chosen & bit[entry.order]]


def _heaviest(best: Sequence[int], rank: int) -> int:
    found = 0
    while rank:
        found = max(found, best[rank])
        rank &= rank - 1
    return found
