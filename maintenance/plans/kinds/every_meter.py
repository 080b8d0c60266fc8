"""Every so far or so many hours: by a meter."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.every_meter import EveryMeter
from maintenance.core.units import show
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind, plain_number
from maintenance.plans.wording.values import Shown, interval_sentence
from maintenance.ui.number_fields import MeasureField

HOURS_OF = {"engine": "engine", "generator": "generator"}
REPLACING = ("severe", "first")  # what stands in the stead of the usual interval
LABELS = {
    "every": "Every (%(unit)s)",
    "severe": "In severe duty, every (%(unit)s)",
    "first": "First time after (%(unit)s)",
}


def _interval(fact: Fact, shown: Shown) -> str:
    return interval_sentence(fact, f"{shown['interval']} {shown['unit']}")


class EveryMeterRule(RuleKind[EveryMeter]):
    trigger = EveryMeter
    group = Group.METERS
    place = 1
    reasons: ClassVar = {
        "every_meter": _interval,
        "carried": (
            "It then ran %(used)s %(unit)s elsewhere, until it came to this "
            "rig on %(on)s at %(value)s %(unit)s."
        ),
    }

    def in_words(self, rule: EveryMeter) -> str:
        text = f"Every {show(rule.interval, rule.unit)}"
        if rule.first is not None:
            first = show(rule.first, rule.unit)
            text += f", first time after {first}"
        if rule.severe is not None:
            severe = show(rule.severe, rule.unit)
            text += f", in severe duty every {severe}"
        return text

    def severe_in_words(self, rule: EveryMeter) -> tuple[str, str] | None:
        if rule.severe is None:
            return None
        return show(rule.severe, rule.unit), show(rule.interval, rule.unit)

    def fields(self, form: FormOf[EveryMeter]) -> dict[str, forms.Field]:
        found: dict[str, forms.Field] = {}
        for meter, own_unit in _units(form).items():
            unit = own_unit
            if own_unit == "h":
                unit = f"h of the {HOURS_OF[meter]}"
            for name, label in LABELS.items():
                found[f"{meter}_{name}"] = MeasureField(
                    label=label % {"unit": unit}, unit=own_unit, required=False
                )
        return found

    def lines(self, form: FormOf[EveryMeter]) -> list[list[str]]:
        return [[f"{meter}_{name}" for name in LABELS] for meter in form.meters]

    def initial(self, rule: EveryMeter, number: int) -> dict[str, Any]:
        values = {"every": rule.interval, "severe": rule.severe, "first": rule.first}
        return {
            f"{rule.meter}_{name}": None if value is None else plain_number(value)
            for name, value in values.items()
        }

    def read(
        self, data: Mapping[str, Any], form: FormOf[EveryMeter]
    ) -> Iterator[Given]:
        for meter, unit in _units(form).items():
            value = data.get(f"{meter}_every")
            if value is None:
                continue
            count = "hours" if unit == "h" else "distance"
            body = {count: plain_number(value), "meter": meter}
            rule: dict[str, Any] = {"every": body}
            if unit != "h":
                body["unit"] = unit
            for name in REPLACING:
                if (other := data.get(f"{meter}_{name}")) is not None:
                    rule[name] = {count: plain_number(other)}
            yield f"{meter}_every", rule

    def missing(
        self, data: Mapping[str, Any], form: FormOf[EveryMeter]
    ) -> Iterator[tuple[str, str]]:
        """A shorter interval needs the usual one beside it."""
        for meter in _units(form):
            given = any(data.get(f"{meter}_{name}") is not None for name in REPLACING)
            if given and data.get(f"{meter}_every") is None:
                yield f"{meter}_every", "Enter the usual interval too."


def _units(form: FormOf[EveryMeter]) -> dict[str, str]:
    """A rule may count in another unit than its meter; it keeps the unit it has."""
    return dict(form.meters) | {rule.meter: str(rule.unit) for rule in form.rules}


KIND = EveryMeterRule()
