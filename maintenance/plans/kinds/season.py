"""Each spring, or each autumn."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.season import Season
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.wording.values import Shown

LABELS = {
    "spring": "Each spring",
    "autumn": "Each autumn",
}


def _runs(fact: Fact, shown: Shown) -> str:
    name = "Spring" if fact.values["name"] == "spring" else "Autumn"
    text = "%(name)s runs from %(opens)s to %(closes)s."
    return text % {**shown, "name": name}


class SeasonRule(RuleKind[Season]):
    trigger = Season
    group = Group.OCCASIONS
    place = 1
    reasons: ClassVar = {"season": _runs}

    def in_words(self, rule: Season) -> str:
        return LABELS[rule.name]

    def fields(self, form: FormOf[Season]) -> dict[str, forms.Field]:
        return {
            name: forms.BooleanField(label=label, required=False)
            for name, label in LABELS.items()
        }

    def lines(self, form: FormOf[Season]) -> list[list[str]]:
        return [[*LABELS]]

    def initial(self, rule: Season, number: int) -> dict[str, Any]:
        return {rule.name: True}

    def read(self, data: Mapping[str, Any], form: FormOf[Season]) -> Iterator[Given]:
        for name in LABELS:
            if data.get(name):
                yield name, {"season": name}


KIND = SeasonRule()
