"""How our forms look, whichever app they belong to."""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from crispy_forms.helper import FormHelper
from django import forms
from django.core.files.uploadedfile import UploadedFile


class PageFormHelper(FormHelper):
    """For a form inside a page of ours: `ui/form.html` brings the form element, the
    token and the buttons."""

    form_tag = False
    disable_csrf = True


class LineFormHelper(PageFormHelper):
    """For the forms of a formset: their problems are listed with the page's form."""

    def __init__(self, form: forms.BaseForm | None = None) -> None:
        super().__init__(form)
        self.in_lines = True


class DayInput(forms.DateInput):
    """The browser's own date field, which takes and gives ISO dates only."""

    input_type = "date"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs, format="%Y-%m-%d")


class MultipleFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Several files at once; none is fine."""

    widget = MultipleFiles

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile]:
        files = data if isinstance(data, list | tuple) else [data]
        return [super(FilesField, self).clean(f, initial) for f in files if f]


OUT_OF_DATE = "This page is out of date. Look over what you typed. Save it once more."


class TokenField(forms.UUIDField):
    """What makes a form one: sent twice, it does its work once. A page with a bad one
    comes back with a good one."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        kwargs |= {"initial": uuid.uuid4}
        words = {"invalid": OUT_OF_DATE, "required": OUT_OF_DATE}
        super().__init__(error_messages=words, **kwargs)

    def bound_data(self, data: Any, initial: Any) -> Any:
        try:
            return self.to_python(data) or initial
        except forms.ValidationError:
            return initial


LONGEST_ID = 18  # digits; the database knows no longer number


class RowsField(forms.ModelMultipleChoiceField):
    """Several rows to tick; a number that no row can have is no row."""

    widget = forms.CheckboxSelectMultiple

    def _check_values(self, value: Any) -> Any:
        for one in value:
            if len(str(one)) > LONGEST_ID:
                words = self.error_messages["invalid_pk_value"]
                raise forms.ValidationError(words, params={"pk": str(one)[:20]})
        return super()._check_values(value)  # type: ignore[misc]


class WhyForm(forms.Form):
    """A reason, for what may not be done without one."""

    why = forms.CharField(label="Why", max_length=200)

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper()


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a form; `label` and `field_id` are empty where it belongs
    to no field that can be seen."""

    text: str
    label: str = ""
    field_id: str = ""


def problems(*parts: "forms.BaseForm | forms.BaseFormSet[Any]") -> list[Problem]:
    """All that is wrong with the forms and formsets of a page, in the order given."""
    found: list[Problem] = []
    for part in parts:
        found += _of_form(part) if isinstance(part, forms.BaseForm) else _of_set(part)
    return found


def _of_set(formset: "forms.BaseFormSet[Any]") -> Iterator[Problem]:
    if not formset.is_bound:
        return
    yield from (Problem(str(text)) for text in formset.non_form_errors())
    for number, line in enumerate(formset.forms, start=1):
        yield from _of_form(line, f"Line {number}")


def _of_form(form: forms.BaseForm, line: str = "") -> Iterator[Problem]:
    lead = f"{line}: " if line else ""
    yield from (Problem(f"{lead}{text}") for text in form.non_field_errors())
    for field in form:
        for text in field.errors:
            if field.is_hidden:
                yield Problem(f"{lead}{text}")
            else:
                label = f"{line}, {field.label}" if line else str(field.label)
                yield Problem(str(text), label, _first_input(field))


def _first_input(field: forms.BoundField) -> str:
    """A group of boxes has no element with the field's own id, but its first box."""
    return field.id_for_label or f"{field.auto_id}_0"
