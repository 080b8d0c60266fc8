"""Choosing what a shop is asked to do."""

from collections.abc import Sequence
from typing import Any

from django import forms

from .sheet import Chosen, Offered


class ShopSheetForm(forms.Form):
    findings = forms.MultipleChoiceField(
        label="Not right", required=False, widget=forms.CheckboxSelectMultiple
    )
    items = forms.MultipleChoiceField(
        label="Work",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Jobs that are due and need a licensed shop are already checked.",
    )
    words = forms.CharField(
        label="Anything else for the shop?",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What you noticed, or want done, in your own words.",
    )

    def __init__(
        self,
        *args: Any,
        findings: Sequence[Offered],
        items: Sequence[Offered],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        for name, offered in (("findings", findings), ("items", items)):
            if not offered:
                del self.fields[name]
                continue
            self.fields[name].choices = [(each.key, each.words) for each in offered]
            self.initial[name] = [each.key for each in offered if each.asked]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors and not any(map(data.get, ("findings", "items", "words"))):
            raise forms.ValidationError(
                "Check what the shop should do, or enter it in your own words."
            )
        return data

    @property
    def chosen(self) -> Chosen:
        data = self.cleaned_data
        return Chosen(
            findings=set(map(int, data.get("findings", ()))),
            items=set(map(int, data.get("items", ()))),
        )
