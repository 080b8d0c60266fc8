"""Telling where something is on a rig."""

from typing import Any

from django import forms

from maintenance.vehicles.models import Spot


class SpotForm(forms.Form):
    words = forms.CharField(
        label="Where is it?",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="“Under the rear bench, left of the pump, behind the slide panel.”",
    )
    upload = forms.FileField(
        label="Photo",
        required=False,
        help_text=(
            "JPEG, PNG, WebP or HEIC, up to 20 MB. Location and camera data "
            "are removed."
        ),
        widget=forms.FileInput(attrs={"accept": "image/*,.heic,.heif"}),
    )
    drop_photo = forms.BooleanField(label="Remove photo", required=False)

    def __init__(self, *args: Any, told: Spot | None, **kwargs: Any) -> None:
        kwargs["initial"] = {"words": told.words if told else ""}
        super().__init__(*args, **kwargs)
        self.told = told
        if told is None or not told.photo:
            del self.fields["drop_photo"]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        nothing = not data.get("words") and not data.get("upload")
        if not self.errors and nothing and self.told is None:
            self.add_error("words", "Enter where it is, or add a photo.")
        return data
