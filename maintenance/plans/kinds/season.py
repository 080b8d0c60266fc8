"""Each spring, or each autumn."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.season import Season
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.wording.values import Shown

LABELS = {
    "spring": gettext_lazy("Each spring"),
    "autumn": gettext_lazy("Each autumn"),
}


def _runs(fact: Fact, shown: Shown) -> str:
    name = _("Spring") if fact.values["name"] == "spring" else _("Autumn")
    text = _("%(name)s runs from %(opens)s to %(closes)s.")
    return text % {**shown, "name": name}


class SeasonRule(RuleKind[Season]):
    trigger = Season
    group = Group.OCCASIONS
    place = 1
    reasons: ClassVar = {"season": _runs}

    def in_words(self, rule: Season) -> str:
        return str(LABELS[rule.name])

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
