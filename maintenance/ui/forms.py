"""How our forms look, whichever app they belong to."""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.forms.renderers import TemplatesSetting


class PageRenderer(TemplatesSetting):
    """Draws every form by templates of ours: `{{ form }}` its fields, `as_field_group`
    one of them. The page brings the form element, the token and the buttons."""

    form_template_name = "ui/_fields.html"
    field_template_name = "ui/_field.html"


class Layout(list["str | Fieldset"]):
    """The fields of a form that are shown, in their order. A form without one shows
    all; a hidden field needs no place in it, and one that was taken out is passed
    over."""

    def __init__(self, *parts: "str | Fieldset") -> None:
        super().__init__(parts)


class Fieldset(Layout):
    """Fields under a heading of their own."""

    def __init__(self, legend: str, *parts: "str | Fieldset") -> None:
        super().__init__(*parts)
        self.legend = legend


class Fold(Fieldset):
    """Fields that few need: folded under their heading, open once one is filled in.
    `now` is what the closed fold says beside it."""

    def __init__(self, legend: str, *parts: "str | Fieldset", now: str = "") -> None:
        super().__init__(legend, *parts)
        self.now = now


@dataclass(frozen=True, slots=True)
class Part:
    """Fields under one heading, or under none."""

    legend: str
    fields: list[forms.BoundField]
    fold: Fold | None = None

    @property
    def filled(self) -> bool:
        """Whether somebody entered something, or has something wrong to mend; a box
        that is ticked beforehand says nothing."""
        return any(
            one.errors or (one.value() and not isinstance(one.value(), bool))
            for one in self.fields
        )


def shown_fields(form: forms.BaseForm, layout: Layout | None = None) -> Iterator[Part]:
    if layout is None:
        layout = getattr(form, "layout", None) or Layout(*form.fields)
    loose: list[forms.BoundField] = []
    for part in layout:
        if isinstance(part, Fieldset):
            if loose:
                yield Part("", loose)
            loose = []
            names = [str(name) for name in part]
            fields = [form[name] for name in names if name in form.fields]
            yield Part(part.legend, fields, part if isinstance(part, Fold) else None)
        elif part in form.fields and not form[part].is_hidden:
            loose.append(form[part])
    if loose:
        yield Part("", loose)


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


OUT_OF_DATE = "This page is out of date. Check what you typed and save it again."


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
        return super()._check_values(value)  # type: ignore[misc]  # the stubs lack it


class WhyForm(forms.Form):
    """A reason, for what may not be done without one."""

    why = forms.CharField(label="Why", max_length=200)


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
