"""After an event: the checks that it raises."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, ClassVar

from django import forms

from maintenance.core.facts import Fact
from maintenance.core.triggers.kinds.after import After
from maintenance.core.units import show, show_number
from maintenance.plans.event_words import EVENT_WORDS, event_words
from maintenance.plans.fields import PairsField
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind, plain_number
from maintenance.plans.wording.values import (
    Shown,
    at_figure,
    days_in_words,
    whole,
)
from maintenance.ui.number_fields import typed_number

EVENTS = [("", "nothing"), *sorted(EVENT_WORDS.items())]


def _happened(fact: Fact, shown: Shown) -> str:
    return (
        f"{event_words(shown['kind'])}{at_figure(fact, shown)} on "
        f"{shown['on']}{_places(shown)}."
    )


def _raised_anew(fact: Fact, shown: Shown) -> str:
    return (
        f"A fastener had turned{at_figure(fact, shown)} on "
        f"{shown['on']}{_places(shown)}: check it again."
    )


def _places(shown: Shown) -> str:
    return f" ({shown['places']})" if shown.get("places") else ""


def _checked_early_days(fact: Fact, shown: Shown) -> str:
    days = days_in_words(whole(fact, "days"))
    early = f"Checked on {shown['on']}, {days} after: too early to count."
    if "counts_from" not in shown:  # as it was kept before
        return early
    return f"{early} A check counts from {shown['counts_from']}."


def _checked_early(_fact: Fact, shown: Shown) -> str:
    early = (
        f"Checked on {shown['on']}, {shown['value']} {shown['unit']} after: "
        "too early to count."
    )
    if "counts_from" not in shown:
        return early
    return f"{early} A check counts from {shown['counts_from']} {shown['unit']}."


def _no_event(fact: Fact, shown: Shown) -> str:
    text = "Nothing to do now. It comes up after “%(event)s”."
    return text % {"event": event_words(shown["kind"])}


class AfterRule(RuleKind[After]):
    trigger = After
    group = Group.EVENTS
    place = 1
    reasons: ClassVar = {
        "event": _happened,
        "raised_anew": _raised_anew,
        "no_event": _no_event,
        "recheck_values": "Re-check between %(opens)s and %(closes)s %(unit)s.",
        "recheck_days": "Re-check between %(opens)s and %(closes)s.",
        "checked_early": _checked_early,
        "checked_early_days": _checked_early_days,
        "checked_without_reading": (
            "Checked on %(on)s without a reading, so it doesn't count: it may "
            "have been too early."
        ),
        "places_but": "Everywhere but %(places)s.",
    }

    def in_words(self, rule: After) -> str:
        checks = " · ".join(_check(low, high, rule.unit) for low, high in rule.checks)
        return f"{checks} after: {event_words(rule.event)}"

    # Each rule has a line of its own in the form, and there is one more to fill in.

    def fields(self, form: FormOf[After]) -> dict[str, forms.Field]:
        found: dict[str, forms.Field] = {}
        distance = [("mi", "mi"), ("km", "km")] if _distance_meter(form) else []
        for number in _numbers(form):
            found[f"event{number}"] = forms.ChoiceField(
                label="After", choices=EVENTS, required=False
            )
            found[f"between{number}"] = PairsField(
                label="Between",
                required=False,
                help_text="Like 50-100; for several checks, 5-10, 20-25.",
            )
            found[f"between_unit{number}"] = forms.ChoiceField(
                label="Unit",
                choices=[*distance, ("days", "days")],
                required=False,
            )
        return found

    def lines(self, form: FormOf[After]) -> list[list[str]]:
        return [
            [f"event{n}", f"between{n}", f"between_unit{n}"] for n in _numbers(form)
        ]

    def initial(self, rule: After, number: int) -> dict[str, Any]:
        pairs = [
            f"{typed_number(low)}-{typed_number(high)}" for low, high in rule.checks
        ]
        return {
            f"event{number}": rule.event,
            f"between{number}": ", ".join(pairs),
            f"between_unit{number}": rule.unit or "days",
        }

    def read(self, data: Mapping[str, Any], form: FormOf[After]) -> Iterator[Given]:
        for number in _numbers(form):
            event, pairs = data.get(f"event{number}"), data.get(f"between{number}")
            if event and pairs:
                unit = data.get(f"between_unit{number}") or "days"
                rule = _rule(event, pairs, unit, _distance_meter(form))
                yield f"between{number}", rule

    def missing(
        self, data: Mapping[str, Any], form: FormOf[After]
    ) -> Iterator[tuple[str, str]]:
        for number in _numbers(form):
            given = [bool(data.get(f"{name}{number}")) for name in ("event", "between")]
            if any(given) and not all(given):
                text = "Enter both: after what, and a range like 50-100."
                yield f"between{number}", text


def _check(low: Decimal, high: Decimal, unit: str | None) -> str:
    if unit is None:
        return f"{low} to {high} days"
    return f"{show_number(low)}\N{EN DASH}{show(high, unit)}"


def _numbers(form: FormOf[After]) -> range:
    return range(len(form.rules) + 1)


def _distance_meter(form: FormOf[After]) -> str | None:
    return next((kind for kind, unit in form.meters.items() if unit != "h"), None)


def _rule(
    event: str, pairs: list[list[Decimal]], unit: str, meter: str | None
) -> dict[str, Any]:
    checks = [[plain_number(end) for end in pair] for pair in pairs]
    shown = checks[0] if len(checks) == 1 else checks
    if unit == "days":
        return {"after": {"event": event, "days": shown}}
    on_meter = {"distance": shown, "unit": unit, "meter": meter}
    return {"after": {"event": event, **on_meter}}


KIND = AfterRule()
