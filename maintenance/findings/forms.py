"""Forms of findings, and the field that takes photos."""

from typing import Any

from django import forms

from maintenance.ui.forms import DayInput, FilesField, MultipleFiles
from maintenance.vehicles.models import Rig

from .models import Severity
from .zones import zones_of

PHOTOS_HELP = (
    "JPEG, PNG, WebP or HEIC, up to 20 MB each. Location and camera data are removed."
)


def photos_field() -> FilesField:
    return FilesField(
        label="Photos",
        required=False,
        widget=MultipleFiles(attrs={"accept": "image/*,.heic,.heif"}),
        help_text=PHOTOS_HELP,
    )


class JudgeForm(forms.Form):
    """What a finding is: where, how urgent, and whether the rig may go on."""

    what = forms.CharField(label="What's wrong?", max_length=300)
    zone = forms.ChoiceField(label="Where", required=False)
    severity = forms.ChoiceField(
        label="How urgent", choices=Severity.choices, initial=Severity.SOON
    )
    unfit = forms.BooleanField(
        label="Don't drive or tow the rig until it's fixed", required=False
    )

    def __init__(self, *args: Any, rig: Rig, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        zones = [(zone.key, zone.title) for zone in zones_of(rig)]
        self.fields["zone"].choices = [("", "Somewhere else"), *zones]


class JudgeAgainForm(JudgeForm):
    why = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        help_text="Needed if the rig may travel with it after all.",
    )


class FindingForm(JudgeForm):
    uploads = photos_field()


class PlanForm(forms.Form):
    title = forms.CharField(label="Job", max_length=120)
    due_on = forms.DateField(
        label="Do it by",
        widget=DayInput,
        help_text="It's overdue after this date.",
    )
