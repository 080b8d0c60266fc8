"""Library rules that changed since an item was taken on: offered, not applied."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from maintenance.library.model import Procedure

from .models import PlanItem, RulesFrom
from .rule_data import canonical, rules_on
from .rules import rules_in_words, words_of_rules


@dataclass(frozen=True, slots=True)
class Offer:
    """`now` is what the library says today, `counted` what counts until it is taken.
    `by_maker`: the maker's figure counts and wins; it can only be seen."""

    item: PlanItem
    counted: list[str]
    now: list[str]
    by_maker: bool


def offers(
    items: Iterable[PlanItem],
    procedures: Mapping[str, Procedure],
    meters: Mapping[str, str],
) -> list[Offer]:
    return [
        _offer(item, procedures[item.key], meters)
        for item in items
        if item.key in procedures and is_changed(item, procedures[item.key])
    ]


def is_changed(item: PlanItem, procedure: Procedure) -> bool:
    """Whether the procedure has other rules than when the owner last saw them."""
    if item.library_triggers is None:
        return False
    return canonical(procedure.triggers, item.key) != item.library_triggers


def _offer(item: PlanItem, procedure: Procedure, meters: Mapping[str, str]) -> Offer:
    rules = rules_on(procedure, meters, like=item.triggers)
    return Offer(
        item=item,
        counted=rules_in_words(item),
        now=words_of_rules(rules, item.key),
        by_maker=item.rules_from == RulesFrom.MAKER,
    )
