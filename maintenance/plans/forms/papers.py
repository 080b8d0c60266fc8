"""The date printed on a paper."""

from django import forms

from maintenance.ui.forms import DayInput


class PaperForm(forms.Form):
    expires = forms.DateField(label="Expires on", widget=DayInput)
