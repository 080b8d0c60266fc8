"""Pointing an item to the page of a manual."""

from typing import Any

from django import forms

from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Manual


class PageForm(forms.Form):
    manual = forms.ModelChoiceField(label="Manual", queryset=Manual.objects.none())
    page = forms.IntegerField(
        label="Page",
        min_value=1,
        initial=1,
        help_text="The page number on screen; the cover is 1.",
    )
    text = forms.CharField(
        label="What it says",
        max_length=200,
        required=False,
        help_text="A figure with its unit, like “lug torque 140 ft·lbf”.",
    )

    def __init__(self, *args: Any, item: PlanItem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["manual"].queryset = item.rig.manuals.all()
