"""Each spring, or each fall."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.season import Season
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.wording.values import Shown
from maintenance.ui.words import season_words

NAMES = ("spring", "autumn")


def _runs(fact: Fact, shown: Shown) -> str:
    name = season_words(str(fact.values["name"])).capitalize()
    return f"{name} runs from {shown['opens']} to {shown['closes']}."


def _label(name: str) -> str:
    return f"Each {season_words(name)}"


class SeasonRule(RuleKind[Season]):
    trigger = Season
    group = Group.OCCASIONS
    place = 1
    reasons: ClassVar = {"season": _runs}

    def in_words(self, rule: Season) -> str:
        return _label(rule.name)

    def fields(self, form: FormOf[Season]) -> dict[str, forms.Field]:
        return {
            name: forms.BooleanField(label=_label(name), required=False)
            for name in NAMES
        }

    def lines(self, form: FormOf[Season]) -> list[list[str]]:
        return [[*NAMES]]

    def initial(self, rule: Season, number: int) -> dict[str, Any]:
        return {rule.name: True}

    def read(self, data: Mapping[str, Any], form: FormOf[Season]) -> Iterator[Given]:
        for name in NAMES:
            if data.get(name):
                yield name, {"season": name}


KIND = SeasonRule()
