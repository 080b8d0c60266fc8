"""Why a job makes its rig unfit to travel, or not legal to drive, in one sentence."""

from collections.abc import Iterable, Iterator
from datetime import date

from maintenance.core.facts import Pending
from maintenance.core.triggers import FOLLOW_UPS, parse_triggers
from maintenance.core.words import counted
from maintenance.library.reading import load_library
from maintenance.plans.event_words import event_words
from maintenance.plans.models import Standing
from maintenance.ui.words import day_words

NOT_LEGAL = "Not legal to drive"


def fitness_words(standing: Standing, when: str) -> str:
    """Empty where it makes the rig neither. `when`: “was due by 47,860 mi”."""
    if standing.not_legal:
        return f"Not legal to drive: it {when}." if when else "Not legal to drive."
    if standing.unfit_by == "event":
        return "; ".join(_events(standing)) + ": not checked yet."
    if standing.unfit_by == "age":
        return f"More than {_years(standing)} old."
    if standing.unfit_by:
        return f"It {when}." if when else "It's overdue."
    return ""


def _events(standing: Standing) -> Iterator[str]:
    """What happened, and when where one such rule says it: “Collision on Nov 7”."""
    item = standing.item
    kinds = [rule.follows() for rule in parse_triggers(item.triggers, item.key)]
    words = " or ".join(
        event_words(kind) for kind in dict.fromkeys(filter(None, kinds))
    )
    days = sorted(_days(standing.pending))
    yield f"{words} on {day_words(days[0])}" if days else words


def _days(pending: Iterable[Pending]) -> Iterator[date]:
    """A check by days opens with what happened."""
    for one in pending:
        if one.kind in FOLLOW_UPS and isinstance(one.window.opens, date):
            yield one.window.opens


def _years(standing: Standing) -> str:
    procedure = load_library().procedures.get(standing.item.key)
    return counted(procedure.unfit_years if procedure else 0, "year")
