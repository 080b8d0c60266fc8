"""Forms about a plan: equipment, proposal, deferral, baseline, dropping."""

from collections import defaultdict

from django import forms
from django.utils.translation import gettext_lazy as _

from maintenance.ui.forms import DayInput, PageFormHelper
from maintenance.vehicles.fields import MeasureField
from maintenance.vehicles.models import Rig

from .models import PlanItem
from .procedures import Library, Proposal


class EquipmentForm(forms.Form):
    """What a rig has, one group of boxes after the other."""

    def __init__(self, *args, rig: Rig, library: Library, **kwargs):
        super().__init__(*args, **kwargs)
        groups = defaultdict(list)
        for entry in library.equipment.values():
            groups[entry.group].append((entry.key, entry.title))
        has = rig.equipment or [
            e.key for e in library.equipment.values() if rig.kind in e.usual
        ]
        for number, (group, choices) in enumerate(groups.items()):
            self.fields[f"group{number}"] = forms.MultipleChoiceField(
                label=group,
                choices=choices,
                initial=[key for key, _title in choices if key in has],
                widget=forms.CheckboxSelectMultiple,
                required=False,
            )
        self.helper = PageFormHelper()

    def chosen(self) -> list[str]:
        return [key for group in self.cleaned_data.values() for key in group]


class ProposalForm(forms.Form):
    """The items proposed, each to be taken or left."""

    keys = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Take at least one item.")},
    )

    def __init__(self, *args, proposals: list[Proposal], **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["keys"].choices = [
            (p.procedure.key, p.procedure.title) for p in proposals
        ]


class DeferForm(forms.Form):
    until = forms.DateField(label=_("Until"), widget=DayInput, required=False)
    until_value = MeasureField(
        label=_("Or until the meter shows"), unit="mi", required=False
    )
    why = forms.CharField(label=_("Why"), max_length=200)

    def __init__(self, *args, item: PlanItem, unit: str, **kwargs):
        super().__init__(*args, **kwargs)
        if unit:
            self.fields["until_value"].unit = unit
        else:
            del self.fields["until_value"]
            self.fields["until"].required = True
        self.helper = PageFormHelper()

    def clean(self):
        data = super().clean()
        if not self.errors and not data.get("until") and not data.get("until_value"):
            self.add_error("until", _("Give a day or a reading."))
        return data


class BaselineForm(forms.Form):
    on = forms.DateField(
        label=_("Done on, or about"),
        widget=DayInput,
        help_text=_("A stated day counts from then on, but it is no record."),
    )
    value = MeasureField(label=_("The meter showed"), unit="mi", required=False)

    def __init__(self, *args, meter: str, unit: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.meter = meter
        if unit:
            self.fields["value"].unit = unit
        else:
            del self.fields["value"]
        self.helper = PageFormHelper()


class DropForm(forms.Form):
    why = forms.CharField(label=_("Why"), max_length=200)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper()
