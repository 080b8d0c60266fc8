"""Facts behind a standing, worded: plain sentences that a user can check by hand."""

from datetime import date

from maintenance.core.facts import Fact
from maintenance.plans.wording.plain import PLAIN
from maintenance.plans.wording.sentences import SPECIAL
from maintenance.plans.wording.values import (
    day_in_words,
    meter_in_words,
    value_in_words,
)

__all__ = ["PLAIN", "SPECIAL", "day_in_words", "word"]


def word(fact: Fact, as_of: date | None = None) -> str:
    """One fact as a sentence. Days of the year of `as_of` are given without it."""
    shown = {name: value_in_words(one, as_of) for name, one in fact.values.items()}
    if fact.values.get("meter"):
        shown["of_meter"] = meter_in_words(shown["meter"])
    special = SPECIAL.get(fact.key)
    if special is not None:
        return special(fact, shown)
    return str(PLAIN[fact.key]) % shown
