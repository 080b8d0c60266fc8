"""Forms of the manuals shelf."""

from django import forms


class ManualForm(forms.Form):
    title = forms.CharField(
        label="Title",
        max_length=120,
        help_text="As you would ask for it: “Chassis book”, “Tire placard”.",
    )
    about = forms.CharField(
        label="What it is about",
        max_length=80,
        required=False,
        help_text="The part it belongs to, such as the water heater.",
    )
    upload = forms.FileField(
        label="PDF, or a photo of a placard",
        help_text=(
            "A PDF of up to 60 MB, or a JPEG, PNG, WebP or HEIC of up to 20 MB. Place "
            "and camera are taken out of photos."
        ),
        widget=forms.ClearableFileInput(
            attrs={"accept": "application/pdf,image/*,.heic,.heif"}
        ),
    )


class PageNoteForm(forms.Form):
    page = forms.IntegerField(
        label="Page",
        min_value=1,
        help_text="As the reader on the screen counts, the cover being 1.",
    )
    text = forms.CharField(
        label="What stands there",
        max_length=200,
        help_text="The figure with its unit: “lug torque 140 ft·lbf”.",
    )
