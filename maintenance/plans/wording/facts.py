"""A fact as a sentence."""

from collections.abc import Mapping
from datetime import date

from maintenance.core.facts import Fact
from maintenance.plans.kinds import REASONS
from maintenance.plans.rule_kind import Sentence
from maintenance.plans.wording.plain import PLAIN
from maintenance.plans.wording.sentences import SPECIAL
from maintenance.plans.wording.values import meter_in_words, value_in_words

SENTENCES: Mapping[str, Sentence] = {**PLAIN, **SPECIAL, **REASONS}


def word(fact: Fact, as_of: date | None = None) -> str:
    """One fact as a sentence. Days of the year of `as_of` are given without it."""
    shown = {name: value_in_words(one, as_of) for name, one in fact.values.items()}
    if fact.values.get("meter"):
        shown["of_meter"] = meter_in_words(shown["meter"])
    sentence = SENTENCES[fact.key]
    return sentence(fact, shown) if callable(sentence) else str(sentence) % shown
