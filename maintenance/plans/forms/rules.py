"""Rules of an item in a plain form: every kind of trigger, its fields, and back."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django import forms

from maintenance.core.triggers import Kind, parse_triggers
from maintenance.households.refusals import Refused
from maintenance.plans.kinds import KINDS
from maintenance.plans.rule_data import Rules, canonical
from maintenance.plans.rule_kind import FormOf, Given, Group, RuleKind
from maintenance.plans.services import check_rules
from maintenance.vehicles.models import MeterKind


@dataclass(frozen=True, slots=True)
class Part:
    """A kind of rule in this form."""

    kind: RuleKind[Any]
    form: FormOf[Any]


@dataclass(frozen=True, slots=True)
class RuleGroup:
    """Fields of a form that belong together; `filled` ones are shown open."""

    title: str
    help: str
    lines: list[list[forms.BoundField]]
    filled: bool


class RulesForm(forms.Form):
    """When an item is due. Each rule that is given becomes a trigger."""

    def __init__(
        self,
        data: Any = None,
        *,
        meters: Mapping[str, str],
        rules: Rules,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        parsed = parse_triggers([*rules], "rules")
        self.meters = meters
        self.parts = [_part(kind, parsed, meters) for kind in KINDS]
        values: dict[str, Any] = {}
        for part in self.parts:
            for number, rule in enumerate(part.form.rules):
                values |= part.kind.initial(rule, number)
        super().__init__(data, initial={**values, **(initial or {})})
        for part in self.parts:
            self.fields.update(part.kind.fields(part.form))

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

    def _rules(self, data: dict[str, Any]) -> Iterator[Given]:
        """Each rule with the field that a problem with it belongs to."""
        for part in self.parts:
            yield from part.kind.read(data, part.form)
            for name, text in part.kind.missing(data, part.form):
                self._ask_for(name, text)
            self._need_the_main_thing(part.kind.details, data)

    def _need_the_main_thing(
        self, details: Mapping[str, str], data: dict[str, Any]
    ) -> None:
        """What only says more of a rule was typed, and the rule itself was not."""
        for name, main in details.items():
            given = name in self.changed_data and _is_given(data.get(name))
            if given and not _is_given(data.get(main)):
                text = "Enter this too: you entered “%(detail)s”."
                self._ask_for(main, text % {"detail": self.fields[name].label})

    def _ask_for(self, name: str, text: str) -> None:
        """One complaint a field is enough."""
        if name not in self.errors:
            self.add_error(name, text)

    # --- on the page ------------------------------------------------------------------

    @property
    def rule_groups(self) -> list[RuleGroup]:
        """Those that are filled are open; of an empty form, the one by time."""
        groups = self._groups()
        if not any(group.filled for group in groups):
            groups[1] = replace(groups[1], filled=True)
        return groups

    def _groups(self) -> list[RuleGroup]:
        lines: dict[Group, list[list[str]]] = {group: [] for group in Group}
        for part in self.parts:
            lines[part.kind.group] += part.kind.lines(part.form)
        names = [str(MeterKind(kind).label).lower() for kind in self.meters]
        by_meters = f"By {' and '.join(names)}"
        return [
            self._group(by_meters, lines[Group.METERS]),
            self._group("By time", lines[Group.TIME]),
            self._group("By season, storage and trips", lines[Group.OCCASIONS]),
            self._group("After something happened", lines[Group.EVENTS]),
            self._group(
                "A part replaced by age",
                lines[Group.AGE],
                "From the date on the part: 2015, 4/2015 or 4/12/2015.",
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


def _part(
    kind: RuleKind[Any], rules: Iterable[Kind], meters: Mapping[str, str]
) -> Part:
    own = tuple(rule for rule in rules if isinstance(rule, kind.trigger))
    return Part(kind, FormOf(meters, own))


def _is_given(value: Any) -> bool:
    """Zero is given: no days before."""
    return value is not None and value is not False and value != ""
