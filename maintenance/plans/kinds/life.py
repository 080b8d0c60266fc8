"""The life of a part, from the date on it."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.life import Life
from maintenance.plans.fields import WhenField
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.wording.values import (
    Shown,
    months_in_words,
    span_in_words,
    whole,
)
from maintenance.ui.words import month_words

UNITS = [("months", "months"), ("years", "years")]


def _good_for(fact: Fact, shown: Shown) -> str:
    span = months_in_words(whole(fact, "months"))
    start = fact.values["start"]
    if fact.values.get("month_only") and isinstance(start, date):
        month = month_words(start, short=True)
        return f"Good for {span} from {month}, to the end of the month."
    return f"Good for {span} from {shown['start']}."


class LifeRule(RuleKind[Life]):
    trigger = Life
    group = Group.AGE
    place = 1
    reasons: ClassVar = {
        "life": _good_for,
        "no_life_start": "Its date isn't known yet: read it on the part.",
    }
    details: ClassVar = {"life_from": "life"}

    def in_words(self, rule: Life) -> str:
        return f"Good for {span_in_words(rule.length)} from its date, used or not"

    def fields(self, form: FormOf[Life]) -> dict[str, forms.Field]:
        return {
            "life": forms.IntegerField(label="Replace after", required=False),
            "life_unit": forms.ChoiceField(
                label="Unit", choices=UNITS, initial="years", required=False
            ),
            "life_from": WhenField(
                label="Date made, or last requalified", required=False
            ),
        }

    def lines(self, form: FormOf[Life]) -> list[list[str]]:
        return [["life", "life_unit", "life_from"]]

    def initial(self, rule: Life, number: int) -> dict[str, Any]:
        months, start = rule.length.months, rule.start
        years = months % 12 == 0
        return {
            "life": months // 12 if years else months,
            "life_unit": "years" if years else "months",
            "life_from": start.isoformat()[: 7 if rule.month_only else 10]
            if start
            else "",
        }

    def read(self, data: Mapping[str, Any], form: FormOf[Life]) -> Iterator[Given]:
        if data.get("life") is not None:
            life = {data.get("life_unit") or "years": data["life"]}
            start = data.get("life_from")
            yield "life", {"life": life | ({"from": start.start} if start else {})}


KIND = LifeRule()
