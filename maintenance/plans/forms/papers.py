"""The date printed on a paper."""

from typing import Any

from django import forms

from maintenance.ui.forms import DayInput, PageFormHelper


class PaperForm(forms.Form):
    expires = forms.DateField(label="Expires on", widget=DayInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper()
