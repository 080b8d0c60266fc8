"""Triggers in words, as a person would say the rule."""

from collections.abc import Iterable, Mapping
from typing import Any

from maintenance.core.triggers import Kind, parse_triggers

from .kinds import kind_of
from .models import PlanItem


def rules_in_words(item: PlanItem) -> list[str]:
    """Its rules; an item without any is done when it is needed."""
    return words_of_rules(item.triggers, item.key) or ["When needed"]


def words_of_rules(rules: Iterable[Mapping[str, Any]], key: str) -> list[str]:
    """Rules as an item or a procedure has them."""
    return [rule_in_words(rule) for rule in parse_triggers([*map(dict, rules)], key)]


def rule_in_words(rule: Kind) -> str:
    return kind_of(rule).in_words(rule)


def severe_in_words(rule: Kind) -> str:
    """“every 3,000 mi instead of 5,000 mi”; empty without a shorter interval."""
    found = kind_of(rule).severe_in_words(rule)
    if found is None:
        return ""
    shorter, usual = found
    return f"every {shorter} instead of {usual}"
