"""Every so many days while the rig is in a stay."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.while_stored import WhileStored
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.wording.values import Shown, days_in_words, whole


def _every(fact: Fact, _shown: Shown) -> str:
    return f"Every {days_in_words(whole(fact, 'days'))} in storage."


def _runway_expected(fact: Fact, _shown: Shown) -> str:
    return (
        f"Sooner this time: by estimate it lasts {days_in_words(whole(fact, 'days'))}."
    )


def _runway_read(fact: Fact, shown: Shown) -> str:
    text = "Sooner this time: by the reading on %(on)s it lasts %(days)s."
    return text % {"on": shown["on"], "days": days_in_words(whole(fact, "days"))}


class WhileStoredRule(RuleKind[WhileStored]):
    trigger = WhileStored
    group = Group.OCCASIONS
    place = 3
    reasons: ClassVar = {
        "not_stored": "The rig isn't in storage.",
        "winterized": "It's winterized: nothing to do.",
        "freezes": "Frost is expected and its lines hold water: don't run any.",
        "stay_ends_before": (
            "Storage is planned to end before %(closes)s, when this would be due."
        ),
        "every_stored": _every,
        "runway_expected": _runway_expected,
        "runway_read": _runway_read,
    }
    details: ClassVar = {"unless_winterized": "while_stored"}

    def in_words(self, rule: WhileStored) -> str:
        text = f"Every {rule.days} days in storage"
        return text + (", unless winterized" if rule.unless_winterized else "")

    def fields(self, form: FormOf[WhileStored]) -> dict[str, forms.Field]:
        return {
            "while_stored": forms.IntegerField(
                label="In storage, every (days)", required=False
            ),
            "unless_winterized": forms.BooleanField(
                label="Not while winterized", required=False
            ),
        }

    def lines(self, form: FormOf[WhileStored]) -> list[list[str]]:
        return [["while_stored", "unless_winterized"]]

    def initial(self, rule: WhileStored, number: int) -> dict[str, Any]:
        dry = rule.unless_winterized
        return {"while_stored": rule.days, "unless_winterized": dry}

    def read(
        self, data: Mapping[str, Any], form: FormOf[WhileStored]
    ) -> Iterator[Given]:
        days = data.get("while_stored")
        if days is not None:
            dry = {"unless_winterized": True} if data.get("unless_winterized") else {}
            yield "while_stored", {"while_stored": {"days": days, **dry}}


KIND = WhileStoredRule()
