"""Every so long: by the calendar, or by days in use."""

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact, Span
from maintenance.core.triggers.kinds.every_time import EveryTime
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.wording.values import (
    Shown,
    days_in_words,
    interval_sentence,
    months_in_words,
    span_in_words,
    whole,
)

UNITS = [
    ("days", "days"),
    ("months", "months"),
    ("years", "years"),
]
REPLACING = ("severe", "first")  # what stands in the stead of the usual interval


def _interval(fact: Fact, _shown: Shown) -> str:
    days, months = whole(fact, "days"), whole(fact, "months")
    interval = months_in_words(months) if months else days_in_words(days)
    if months == 12:
        interval = "12 months"
    if fact.values.get("clock") == "in_use":
        interval = f"{interval} out of storage"
    return interval_sentence(fact, interval)


def _every_span(span: Span) -> str:
    if span.months == 12:
        return "Every year"
    if span.months == 1:
        return "Every month"
    return f"Every {span_in_words(span)}"


class EveryTimeRule(RuleKind[EveryTime]):
    trigger = EveryTime
    group = Group.TIME
    place = 1
    reasons: ClassVar = {
        "every_time": _interval,
        "clock_stands": (
            "Days in storage don't count, and the end of storage isn't known."
        ),
    }

    def in_words(self, rule: EveryTime) -> str:
        text = _every_span(rule.interval)
        if rule.in_use:
            text += " of use (days in storage don't count)"
        if rule.first is not None:
            text += f", first time after {span_in_words(rule.first)}"
        if rule.severe is not None:
            text += f", in severe duty every {span_in_words(rule.severe)}"
        return text

    def severe_in_words(self, rule: EveryTime) -> tuple[str, str] | None:
        if rule.severe is None:
            return None
        return span_in_words(rule.severe), span_in_words(rule.interval)

    def fields(self, form: FormOf[EveryTime]) -> dict[str, forms.Field]:
        return {
            "every": forms.IntegerField(label="Every", required=False),
            "every_unit": forms.ChoiceField(
                label="Unit", choices=UNITS, initial="months", required=False
            ),
            "every_severe": forms.IntegerField(
                label="In severe duty, every", required=False
            ),
            "every_first": forms.IntegerField(label="First time after", required=False),
            "in_use": forms.BooleanField(
                label="Days in storage don't count (interval in days)", required=False
            ),
        }

    def lines(self, form: FormOf[EveryTime]) -> list[list[str]]:
        return [["every", "every_unit", "every_severe", "every_first"], ["in_use"]]

    def initial(self, rule: EveryTime, number: int) -> dict[str, Any]:
        spans = {"every": rule.interval, "every_severe": rule.severe}
        spans["every_first"] = rule.first
        given = [span for span in spans.values() if span]
        unit = "days" if rule.interval.days else "months"
        if unit == "months" and all(span.months % 12 == 0 for span in given):
            unit = "years"
        sizes = {"days": 1, "months": 1, "years": 12}
        numbers = {
            name: (span.days or span.months) // sizes[unit] if span else None
            for name, span in spans.items()
        }
        return {**numbers, "every_unit": unit, "in_use": rule.in_use}

    def read(self, data: Mapping[str, Any], form: FormOf[EveryTime]) -> Iterator[Given]:
        if data.get("every") is None:
            return
        unit = data.get("every_unit") or "months"
        rule: dict[str, Any] = {"every": {unit: data["every"]}}
        if data.get("in_use"):
            rule["clock"] = "in_use"
        for name in REPLACING:
            if data.get(f"every_{name}") is not None:
                rule[name] = {unit: data[f"every_{name}"]}
        yield "every", rule

    def missing(
        self, data: Mapping[str, Any], form: FormOf[EveryTime]
    ) -> Iterator[tuple[str, str]]:
        """A shorter interval needs the usual one beside it."""
        given = any(data.get(f"every_{name}") is not None for name in REPLACING)
        if given and data.get("every") is None:
            yield "every", "Enter the usual interval too."


KIND = EveryTimeRule()
