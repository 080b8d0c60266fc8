"""Procedures that a household wrote, in the shape of the library's."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from maintenance.library.model import Measure, Procedure, Source
from maintenance.ui.words import day_words

from .models import OWN_KEY, OwnProcedure

LISTS = ("cautions", "steps", "tools", "supplies", "raises", "renews", "triggers")
PLAIN = (
    "key",
    "system",
    "title",
    "why",
    "who",
    "minutes",
    "safety",
    "unfit",
    "anchored",
    "once",
)


def as_procedure(own: OwnProcedure) -> Procedure:
    """As a procedure of the library, its source being the one who wrote it."""
    plain: dict[str, Any] = {name: getattr(own, name) for name in PLAIN}
    lists: dict[str, Any] = {name: tuple(getattr(own, name)) for name in LISTS}
    return Procedure(
        **plain,
        **lists,
        unfit_when=_unfit_when(own),
        measures=tuple(_measure(row) for row in own.measures),
        sources=(Source("all of it", "your own", _written(own)),),
    )


def _unfit_when(own: OwnProcedure) -> tuple[str, ...]:
    """What its owner wrote may be found or measured at any time; overdue only where
    that is said."""
    found = {
        "overdue": own.unfit_when_overdue,
        "measured": own.unfit and own.measures,
        "finding": own.unfit,
    }
    return tuple(when for when, so in found.items() if so)


def is_own(key: str) -> bool:
    return key.startswith(OWN_KEY)


def _measure(row: Mapping[str, Any]) -> Measure:
    low, high = row.get("low"), row.get("high")
    return Measure(
        name=row["name"],
        unit=row["unit"],
        low=None if low is None else Decimal(low),
        high=None if high is None else Decimal(high),
    )


def _written(own: OwnProcedure) -> str:
    day = day_words(own.written_on)
    if own.written_by is None:
        return f"written on {day}"
    return f"written by {own.written_by} on {day}"
