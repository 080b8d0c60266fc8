"""Forms of a zone and of finishing a walk-around."""

import uuid
from collections.abc import Sequence
from typing import Any

from django import forms

from maintenance.findings.forms import photos_field
from maintenance.findings.models import Finding, Severity
from maintenance.plans.models import PlanItem
from maintenance.service_records.wheels_form import AsksWheels
from maintenance.service_records.wheels_told import WheelWork
from maintenance.ui.forms import Layout, RowsField, TokenField
from maintenance.vehicles.models import Rig

from .queries import ZoneState
from .rounds import Wrong


class LookForm(forms.Form):
    """One look at one zone: as last time, or what has changed. A small post."""

    token = TokenField()
    words = forms.CharField(
        label="What changed?",
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    photos = photos_field()
    still = RowsField(
        label="Still the same",
        queryset=Finding.objects.none(),
        required=False,
    )
    what = forms.CharField(
        label="Something's wrong",
        max_length=300,
        required=False,
        help_text="In a few words; it stays on Due until it's fixed.",
    )
    severity = forms.ChoiceField(
        label="How urgent", choices=Severity.choices, initial=Severity.SOON
    )
    unfit = forms.BooleanField(
        label="Don't drive or tow the rig until it's fixed", required=False
    )

    def __init__(self, *args: Any, state: ZoneState, **kwargs: Any) -> None:
        kwargs["auto_id"] = f"{state.zone.key}_%s"  # ten such forms stand on a page
        super().__init__(*args, **kwargs)
        self.zone = state.zone.key
        self.same_token = uuid.uuid4()  # for the form of one tap beside this one
        known = [finding.pk for finding in state.findings]
        if known:
            self.fields["still"].queryset = Finding.objects.filter(pk__in=known)
            self.fields["still"].choices = [(f.pk, f.what) for f in state.findings]
        else:
            del self.fields["still"]

    @property
    def same(self) -> bool:
        return self.data.get("answer") == "same"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("unfit") and not (data.get("what") or "").strip():
            self.add_error("what", "Enter what makes it unfit to travel.")
        return data

    def look(self) -> dict[str, Any]:
        """What `keep_look` takes of it."""
        data = self.cleaned_data
        what = data["what"].strip()
        wrong = Wrong(what, data["severity"], data["unfit"]) if what else None
        return {
            "token": data["token"],
            "same": self.same,
            "words": data["words"],
            "uploads": data["photos"],
            "still": list(data.get("still") or ()),
            "wrong": wrong,
        }


class FinishForm(AsksWheels):
    done = forms.MultipleChoiceField(
        label="Done with this walk-around",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=(
            "Tick only jobs you did step by step. They're recorded in your name."
        ),
    )

    def __init__(
        self,
        *args: Any,
        items: Sequence[PlanItem],
        rig: Rig,
        told: WheelWork | None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.told = told
        self.items = {str(item.pk): item for item in items}
        self.fields["done"].choices = [
            (pk, item.title) for pk, item in self.items.items()
        ]
        if not items:
            del self.fields["done"]
        self.layout = Layout(*self.fields)
        self.add_wheels(rig)
        if told is not None:
            self.ask_wheels(told)

    def clean_done(self) -> list[PlanItem]:
        return [self.items[pk] for pk in self.cleaned_data["done"]]

    def finish(self) -> dict[str, Any]:
        """What `finish_walkround` takes of it."""
        return {
            "done": self.cleaned_data.get("done", ()),
            "wheels": self.wheels_for(self.told),
            "told": self.told.told if self.told else "",
        }
