"""Forms about what is on a plan: equipment, proposal, deferral, dropping."""

from collections import defaultdict
from typing import Any

from django import forms

from maintenance.library.model import Library
from maintenance.plans.drafts import Draft
from maintenance.plans.models import PlanItem
from maintenance.ui.forms import DayInput
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.models import Rig

DUAL_WHEELS = "dual_rear_wheels"  # known from the rig's wheels


class EquipmentForm(forms.Form):
    """What a rig has, one group of boxes after the other."""

    def __init__(self, *args, rig: Rig, library: Library, **kwargs):
        super().__init__(*args, **kwargs)
        groups = defaultdict(list)
        for entry in library.equipment.values():
            groups[entry.group].append((entry.key, entry.title))
        has = _equipment(rig, library)
        for number, (group, choices) in enumerate(groups.items()):
            self.fields[f"group{number}"] = forms.MultipleChoiceField(
                label=group,
                choices=choices,
                initial=[key for key, _title in choices if key in has],
                widget=forms.CheckboxSelectMultiple,
                required=False,
            )

    def chosen(self) -> list[str]:
        return [key for group in self.cleaned_data.values() for key in group]


def _equipment(rig: Rig, library: Library) -> list[str]:
    """What the rig has; until that was asked once what is usual for its kind."""
    if rig.equipment or rig.plan_items.exists():
        return rig.equipment
    every = library.equipment.values()
    usual = [one.key for one in every if one.is_usual(rig.kind, rig.year)]
    return [*usual, DUAL_WHEELS] if rig.has_dual_wheels else usual


class PlanForm(forms.Form):
    """The items proposed, each to be taken or left, and those to be taken off."""

    keys = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple, required=False
    )
    off = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple, required=False)
    why = forms.CharField(
        label="Why the safety jobs are left out", max_length=200, required=False
    )

    def __init__(self, *args, draft: Draft, **kwargs):
        super().__init__(*args, **kwargs)
        self.draft = draft
        rows = [*draft.rows, *draft.earlier]
        self._choices("keys", [(row.key, row.title) for row in rows])
        self._choices("off", [(one.id, one.item.title) for one in draft.leaving])

    def _choices(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.MultipleChoiceField)  # noqa: S101
        field.choices = choices

    @property
    def chosen(self) -> list[str]:
        """Keys and ids that stand ticked."""
        if self.is_bound:
            return [*self["keys"].data, *self["off"].data]
        usual = [row.key for row in self.draft.rows if row.usual]
        return usual + [one.id for one in self.draft.leaving]

    @property
    def safety_left(self) -> list[str]:
        """Titles of the safety items that were proposed as new and are not taken."""
        if not self.is_bound:
            return []
        return [
            row.title
            for row in self.draft.rows
            if row.safety and row.usual and row.key not in self.chosen
        ]

    @property
    def opened(self) -> list[str]:
        """Titles of the parts that are shown open: where safety items were left."""
        return [
            group.title
            for group in self.draft.groups
            if any(row.title in self.safety_left for row in group.rows)
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if self.safety_left and not data.get("why", "").strip():
            self.add_error(
                "why", "Tick the safety jobs again, or enter why they're left out."
            )
        return data

    def settling(self) -> dict[str, Any]:
        """The arguments of `settle_plan`."""
        data = self.cleaned_data
        new = [row.key for row in self.draft.rows if row.usual]
        return {
            "take": data["keys"],
            "leave": [key for key in new if key not in data["keys"]],
            "drop": {
                one.item: one.because
                for one in self.draft.leaving
                if one.id in data["off"]
            },
            "why": data["why"],
        }


class DeferForm(forms.Form):
    until = forms.DateField(label="Until", widget=DayInput, required=False)
    until_value = MeasureField(
        label="Or until the meter reads", unit="mi", required=False
    )
    why = forms.CharField(label="Why", max_length=200)

    def __init__(self, *args, item: PlanItem, unit: str, **kwargs):
        super().__init__(*args, **kwargs)
        value = self.fields["until_value"]
        if unit and isinstance(value, MeasureField):
            value.unit = unit
        else:
            del self.fields["until_value"]
            self.fields["until"].required = True

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors and not data.get("until") and not data.get("until_value"):
            self.add_error("until", "Enter a date or a reading.")
        return data


class DropForm(forms.Form):
    why = forms.CharField(label="Why", max_length=200)
