"""Rules of an item in a plain form: every kind of trigger, its fields, and back."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core import facts
from maintenance.core.triggers import parse_triggers
from maintenance.households.refusals import Refused
from maintenance.plans.event_words import EVENT_WORDS
from maintenance.plans.rule_data import Rules, canonical
from maintenance.plans.services import check_rules
from maintenance.ui.forms import PageFormHelper
from maintenance.vehicles.fields import MeasureField
from maintenance.vehicles.models import MeterKind

from .fields import PairsField, WhenField
from .rule_fields import fields_of, plain_number

SPANS = [
    ("days", gettext_lazy("days")),
    ("months", gettext_lazy("months")),
    ("years", gettext_lazy("years")),
]
LIVES = SPANS[1:]
HOURS_OF = {"engine": gettext_lazy("engine"), "generator": gettext_lazy("generator")}
EVENTS = [("", gettext_lazy("nothing")), *sorted(EVENT_WORDS.items())]
# Interval field -> the names of what replaces it.
REPLACING = ("severe", "first")
# A field that says more of a rule -> the field of the rule.
DETAILS = {
    "by_day": "storage_entry",
    "entry_lead": "storage_entry",
    "unless_winterized": "while_stored",
    "trip_lead": "before_trip",
    "life_from": "life",
}


@dataclass(frozen=True, slots=True)
class RuleGroup:
    """Fields of a form that belong together; `filled` ones are shown open."""

    title: str
    help: str
    lines: list[list[forms.BoundField]]
    filled: bool


class RulesForm(forms.Form):
    """When an item is due. Each rule that is given becomes a trigger."""

    spring = forms.BooleanField(label=gettext_lazy("Each spring"), required=False)
    autumn = forms.BooleanField(label=gettext_lazy("Each autumn"), required=False)
    storage_entry = forms.BooleanField(
        label=gettext_lazy("Before storage"), required=False
    )
    by_day = forms.IntegerField(
        label=gettext_lazy("Only in a stay longer than (days)"), required=False
    )
    entry_lead = forms.IntegerField(
        label=gettext_lazy("Days before the stay from which it can be done"),
        required=False,
    )
    while_stored = forms.IntegerField(
        label=gettext_lazy("While stored, every (days)"), required=False
    )
    unless_winterized = forms.BooleanField(
        label=gettext_lazy("But not while winterized"), required=False
    )
    storage_exit = forms.BooleanField(
        label=gettext_lazy("When it leaves storage"), required=False
    )
    before_trip = forms.BooleanField(
        label=gettext_lazy("Before each trip"), required=False
    )
    trip_lead = forms.IntegerField(
        label=gettext_lazy("Days before the trip from which it can be done"),
        required=False,
    )
    every = forms.IntegerField(label=gettext_lazy("Every"), required=False)
    every_unit = forms.ChoiceField(
        label=gettext_lazy("Counted in"),
        choices=SPANS,
        initial="months",
        required=False,
    )
    every_severe = forms.IntegerField(
        label=gettext_lazy("Under severe duty every"), required=False
    )
    every_first = forms.IntegerField(
        label=gettext_lazy("The first time after"), required=False
    )
    in_use = forms.BooleanField(
        label=gettext_lazy("Days in storage do not count (give days)"), required=False
    )
    life = forms.IntegerField(label=gettext_lazy("Replace after"), required=False)
    life_unit = forms.ChoiceField(
        label=gettext_lazy("Counted in"),
        choices=LIVES,
        initial="years",
        required=False,
    )
    life_from = WhenField(
        label=gettext_lazy("Made, or last requalified"), required=False
    )

    def __init__(
        self,
        data: Any = None,
        *,
        meters: Mapping[str, str],
        rules: Rules,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        parsed = parse_triggers([*rules], "rules")
        super().__init__(data, initial={**fields_of(parsed), **(initial or {})})
        self.meters = meters
        # A rule may count in another unit than its meter; it keeps the unit it has.
        self.units = dict(meters) | {
            rule.meter: rule.unit
            for rule in parsed
            if isinstance(rule, facts.EveryMeter)
        }
        self._add_meters()
        self.events = sum(isinstance(rule, facts.After) for rule in parsed) + 1
        for number in range(self.events):
            self._add_event(number)
        self.helper = PageFormHelper()

    def _add_meters(self) -> None:
        for kind, own_unit in self.units.items():
            unit = own_unit
            if own_unit == "h":
                unit = _("h of the %(what)s") % {"what": HOURS_OF[kind]}
            labels = {
                f"{kind}_every": _("Every (%(unit)s)"),
                f"{kind}_severe": _("Under severe duty every (%(unit)s)"),
                f"{kind}_first": _("The first time after (%(unit)s)"),
            }
            for name, label in labels.items():
                self.fields[name] = MeasureField(
                    label=label % {"unit": unit}, unit=own_unit, required=False
                )

    def _add_event(self, number: int) -> None:
        distance = [("mi", _("mi")), ("km", _("km"))] if self._distance_meter else []
        self.fields[f"event{number}"] = forms.ChoiceField(
            label=_("After"), choices=EVENTS, required=False
        )
        self.fields[f"between{number}"] = PairsField(
            label=_("Between"),
            required=False,
            help_text=_("Such as 50-100; for several checks 5-10, 20-25."),
        )
        self.fields[f"between_unit{number}"] = forms.ChoiceField(
            label=_("Counted in"),
            choices=[*distance, ("days", _("days"))],
            required=False,
        )

    @property
    def _distance_meter(self) -> str | None:
        return next((kind for kind, unit in self.meters.items() if unit != "h"), None)

    # --- as rules ---------------------------------------------------------------------

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        self.rules: Rules = []
        for name, rule in self._rules(data):
            try:
                check_rules([rule], self.meters, "rule")
            except Refused as refusal:
                self.add_error(name, refusal.text)
            else:
                self.rules += canonical([rule], "rule")
        return data

    def _rules(self, data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
        """Each rule with the field that a problem with it belongs to."""
        yield from self._by_meters(data)
        yield from self._by_time(data)
        yield from _occasions(data)
        yield from self._after_events(data)
        self._need_the_main_thing(data)
        if data.get("life") is not None:
            life = {data.get("life_unit") or "years": data["life"]}
            start = data.get("life_from")
            yield "life", {"life": life | ({"from": start.start} if start else {})}

    def _need_the_main_thing(self, data: dict[str, Any]) -> None:
        """What only says more of a rule was typed, and the rule itself was not."""
        for name, main in DETAILS.items():
            given = name in self.changed_data and _is_given(data.get(name))
            if given and not _is_given(data.get(main)) and main not in self.errors:
                self.add_error(
                    main,
                    _("“%(detail)s” was given without this.")
                    % {"detail": self.fields[name].label},
                )

    def _by_meters(self, data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
        for kind, unit in self.units.items():
            value = data.get(f"{kind}_every")
            if value is None:
                yield from self._lonely(data, kind)
                continue
            count = "hours" if unit == "h" else "distance"
            body = {count: plain_number(value), "meter": kind}
            rule: dict[str, Any] = {"every": body}
            if unit != "h":
                body["unit"] = unit
            for name in REPLACING:
                if (other := data.get(f"{kind}_{name}")) is not None:
                    rule[name] = {count: plain_number(other)}
            yield f"{kind}_every", rule

    def _by_time(self, data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
        if data.get("every") is None:
            yield from self._lonely(data, "every")
            return
        unit = data.get("every_unit") or "months"
        rule: dict[str, Any] = {"every": {unit: data["every"]}}
        if data["in_use"]:
            rule["clock"] = "in_use"
        for name in REPLACING:
            if data.get(f"every_{name}") is not None:
                rule[name] = {unit: data[f"every_{name}"]}
        yield "every", rule

    def _lonely(
        self, data: dict[str, Any], what: str
    ) -> Iterator[tuple[str, dict[str, Any]]]:
        """A shorter interval needs the usual one beside it."""
        usual = what if what == "every" else f"{what}_every"
        if usual in self.errors:
            return
        for name in REPLACING:
            if data.get(f"{what}_{name}") is not None:
                self.add_error(usual, _("Give the usual interval too."))
        yield from ()

    def _after_events(
        self, data: dict[str, Any]
    ) -> Iterator[tuple[str, dict[str, Any]]]:
        for number in range(self.events):
            event, pairs = data.get(f"event{number}"), data.get(f"between{number}")
            if not event and not pairs:
                continue
            if not (event and pairs):
                if f"between{number}" not in self.errors:
                    self.add_error(
                        f"between{number}",
                        _("Say both: after what, and between which two figures."),
                    )
                continue
            yield f"between{number}", self._after(event, pairs, number, data)

    def _after(
        self, event: str, pairs: list[list[Any]], number: int, data: dict[str, Any]
    ) -> dict[str, Any]:
        checks = [[plain_number(end) for end in pair] for pair in pairs]
        body: dict[str, Any] = {"event": event}
        unit = data.get(f"between_unit{number}") or "days"
        shown = checks[0] if len(checks) == 1 else checks
        if unit == "days":
            return {"after": body | {"days": shown}}
        where = {"unit": unit, "meter": self._distance_meter}
        return {"after": body | {"distance": shown, **where}}

    # --- on the page ------------------------------------------------------------------

    @property
    def rule_groups(self) -> list[RuleGroup]:
        """Those that are filled are open; of an empty form, the one by time."""
        groups = self._groups()
        if not any(group.filled for group in groups):
            groups[1] = replace(groups[1], filled=True)
        return groups

    def _groups(self) -> list[RuleGroup]:
        meters = [
            [f"{kind}_{n}" for n in ("every", *REPLACING)] for kind in self.meters
        ]
        time = [["every", "every_unit", "every_severe", "every_first"], ["in_use"]]
        after = [
            [f"event{n}", f"between{n}", f"between_unit{n}"] for n in range(self.events)
        ]
        occasions = [
            ["spring", "autumn"],
            ["storage_entry", "by_day", "entry_lead"],
            ["while_stored", "unless_winterized"],
            ["storage_exit"],
            ["before_trip", "trip_lead"],
        ]
        names = [str(MeterKind(kind).label).lower() for kind in self.meters]
        return [
            self._group(
                _("By %(meters)s") % {"meters": _(" and ").join(names)}, meters
            ),
            self._group(_("By time"), time),
            self._group(_("By season, storage and trips"), occasions),
            self._group(_("After something happened"), after),
            self._group(
                _("A part that is replaced by age"),
                [["life", "life_unit", "life_from"]],
                _("From the date on the part: 2015, 4/2015 or 4/12/2015."),
            ),
        ]

    def _group(self, title: str, lines: list[list[str]], words: str = "") -> RuleGroup:
        names = [name for line in lines for name in line]
        # A choice of unit is never empty, and says nothing alone.
        shown = [bool(self[name].value()) for name in names if "unit" not in name]
        return RuleGroup(
            title=title,
            help=words,
            lines=[[self[name] for name in line] for line in lines],
            filled=any(shown) or any(name in self.errors for name in names),
        )


def _is_given(value: Any) -> bool:
    """Zero is given: no days before."""
    return value is not None and value is not False


def _occasions(data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for name in ("spring", "autumn"):
        if data.get(name):
            yield name, {"season": name}
    if data.get("storage_entry"):
        given = {"by_day": data.get("by_day"), "lead": data.get("entry_lead")}
        body = {name: value for name, value in given.items() if value is not None}
        yield "by_day", {"storage_entry": body}
    if data.get("while_stored") is not None:
        dry = {"unless_winterized": True} if data.get("unless_winterized") else {}
        yield "while_stored", {"while_stored": {"days": data["while_stored"], **dry}}
    if data.get("storage_exit"):
        yield "storage_exit", {"storage_exit": {}}
    if data.get("before_trip"):
        lead = data.get("trip_lead")
        yield "trip_lead", {"before_trip": {} if lead is None else {"lead": lead}}
