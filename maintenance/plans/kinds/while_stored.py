"""Every so many days while the rig is in a stay."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.while_stored import WhileStored
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.wording.values import Shown, days_in_words, whole


def _every(fact: Fact, _shown: Shown) -> str:
    return f"Every {days_in_words(whole(fact, 'days'))} while stored."


def _runway_expected(fact: Fact, _shown: Shown) -> str:
    return (
        "In this stay sooner: by estimate it lasts "
        f"{days_in_words(whole(fact, 'days'))}."
    )


def _runway_read(fact: Fact, shown: Shown) -> str:
    text = "In this stay sooner: by the reading on %(on)s it lasts %(days)s."
    return text % {"on": shown["on"], "days": days_in_words(whole(fact, "days"))}


class WhileStoredRule(RuleKind[WhileStored]):
    trigger = WhileStored
    group = Group.OCCASIONS
    place = 3
    reasons: ClassVar = {
        "not_stored": "The rig is not in a stay.",
        "winterized": "It is winterized, so nothing is asked.",
        "freezes": "Frost is expected and its lines hold water: run none.",
        "stay_ends_before": (
            "The stay is planned to end before %(closes)s, when it would fall due."
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
                label="While stored, every (days)", required=False
            ),
            "unless_winterized": forms.BooleanField(
                label="But not while winterized", required=False
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
