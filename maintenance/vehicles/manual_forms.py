"""Forms of the manuals shelf."""

from django import forms


class ManualForm(forms.Form):
    title = forms.CharField(
        label="Title",
        max_length=120,
        help_text="The name you'd look for, like “Chassis manual” or “Tire placard”.",
    )
    about = forms.CharField(
        label="What it is about",
        max_length=80,
        required=False,
        help_text="The part it's for, like the water heater.",
    )
    upload = forms.FileField(
        label="PDF, or a photo of a placard",
        help_text=("PDF up to 60 MB; JPEG, PNG, WebP or HEIC up to 20 MB."),
        widget=forms.ClearableFileInput(
            attrs={"accept": "application/pdf,image/*,.heic,.heif"}
        ),
    )


class PageNoteForm(forms.Form):
    page = forms.IntegerField(
        label="Page",
        min_value=1,
        help_text="The page number on screen; the cover is 1.",
    )
    text = forms.CharField(
        label="What it says",
        max_length=200,
        help_text="A figure with its unit, like “lug torque 140 ft·lbf”.",
    )
