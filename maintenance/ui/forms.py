"""How our forms look, whichever app they belong to."""

from typing import Any

from crispy_forms.helper import FormHelper
from django import forms


class PageFormHelper(FormHelper):
    """For a form inside a page of ours: `ui/form.html` brings the form element, the
    token, the list of errors and the buttons."""

    form_tag = False
    disable_csrf = True
    # The page lists them at its top, with links (ui/_form_errors.html).
    form_show_errors = True


class DayInput(forms.DateInput):
    """The browser's own date field, which takes and gives ISO dates only."""

    input_type = "date"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs, format="%Y-%m-%d")
