"""Whether a rig is fit to travel: what of an item makes it unfit, and by what cause.

With the open findings marked so it is the whole account (`findings/fitness.py` joins
both); nothing else decides it. Source of the rules: the design of this program,
section 8.
"""

from collections.abc import Iterator
from datetime import date
from typing import Literal

from maintenance.core.dates import DAY, add_span, month_end
from maintenance.core.facts import Item, Pending, Span, StandingName
from maintenance.core.triggers.kinds import FOLLOW_UPS
from maintenance.core.triggers.kinds.life import Life

# "event": something happened, and nobody has looked since. "age": the part is past its
# years. "overdue": the work is left undone past its window.
UnfitBy = Literal["", "event", "age", "overdue"]


def unfit_by(
    item: Item,
    standing: StandingName,
    pending: tuple[Pending, ...],
    as_of: date,
) -> UnfitBy:
    """By what the item makes its rig unfit to travel on `as_of`; empty: by nothing.

    `standing` and `pending` are those of the item on that day. An event counts from its
    own day until its check is done, an age from the day after its end.
    """
    if item.unfit_on_event and any(one.kind in FOLLOW_UPS for one in pending):
        return "event"
    if any(end < as_of for end in age_ends(item)):
        return "age"
    return "overdue" if item.unfit and standing == "overdue" else ""


def not_legal(item: Item, standing: StandingName) -> bool:
    """Whether a paper ran out: the rig is sound, and not legal to drive."""
    return item.paper and standing == "overdue"


def age_ends(item: Item) -> Iterator[date]:
    """The last day on which the part may travel, by each rule of its life: the end of
    that life, or `unfit_years` from the same start where that is later. Nothing where
    age makes no rig unfit, or the start is not known."""
    if item.unfit_years is None:
        return
    least = Span(months=12 * item.unfit_years)
    for rule in item.triggers:
        if isinstance(rule, Life) and rule.start is not None:
            ends = max(add_span(rule.start, rule.length), add_span(rule.start, least))
            yield month_end(ends) if rule.month_only else ends


def turns(item: Item) -> Iterator[date]:
    """The days on which an item may make its rig unfit though nothing is entered and
    its standing does not change."""
    for end in age_ends(item):
        yield end + DAY
