"""No form says anything in the framework's own words."""

import ast
import importlib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import django
import pytest
from django import forms
from django.conf import settings
from django.core import validators
from django.core.exceptions import ValidationError
from django.forms.formsets import BaseFormSet
from django.forms.models import InlineForeignKeyField

from maintenance.households.passwords import WORDS
from maintenance.ui import local

SOURCES = (
    "forms/fields.py",
    "forms/models.py",
    "forms/formsets.py",
    "core/validators.py",
    "contrib/auth/forms.py",
    "contrib/auth/password_validation.py",
    "db/models/fields/__init__.py",
)
MARKERS = {"_", "ngettext_lazy"}
# Fields that no form of ours has, and what only the framework's own pages show.
UNUSED = {
    forms.ComboField,
    forms.DateTimeField,
    forms.DurationField,
    forms.FilePathField,
    forms.GenericIPAddressField,
    forms.JSONField,
    forms.MultiValueField,
    forms.SlugField,
    forms.SplitDateTimeField,
    InlineForeignKeyField,
}


@cache
def frameworks_words() -> frozenset[str]:
    """Every sentence that it marks for translation in its forms."""
    root = Path(django.__file__).parent
    calls = (
        node
        for source in SOURCES
        for node in ast.walk(ast.parse((root / source).read_text()))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in MARKERS
    )
    return frozenset(
        str(one.value)
        for call in calls
        for one in call.args
        if isinstance(one, ast.Constant) and " " in str(one.value)
    )


def load_all() -> None:
    """Every page, and so every form."""
    importlib.import_module(settings.ROOT_URLCONF)


def kinds_below(base: type) -> Iterator[type]:
    yield base
    for below in base.__subclasses__():
        yield from kinds_below(below)


def ours(kind: type) -> bool:
    return kind.__module__.split(".")[0] in {"maintenance", "rigsite"}


def messages_of(kind: type) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for part in reversed(kind.__mro__):
        found |= getattr(part, "default_error_messages", {})
    return found


def is_framework_s(message: Any) -> bool:
    kept = getattr(message, "_proxy____args", ())
    said = [*kept, message] if kept else [message]
    return any(str(one) in frameworks_words() for one in said)


def test_framework_s_words_are_found():
    assert {"This field is required.", "Enter a whole number."} <= frameworks_words()
    assert len(frameworks_words()) > 60


def test_no_field_says_the_framework_s_words():
    load_all()
    fields = set(kinds_below(forms.Field)) - UNUSED
    fields |= {kind for kind in UNUSED if any(map(ours, kind.__subclasses__()))}

    said = {
        f"{kind.__name__}.{code}": message
        for kind in fields
        for code, message in messages_of(kind).items()
        if is_framework_s(message)
    }

    assert said == {}


def test_no_form_has_a_field_that_says_them():
    """Also what a form gives a field of its own, and the fields' validators."""
    load_all()
    kinds = [kind for kind in kinds_below(forms.BaseForm) if ours(kind)]
    fields = [
        (f"{kind.__name__}.{name}", field)
        for kind in kinds
        for name, field in getattr(kind, "base_fields", {}).items()
    ]

    assert len(kinds) > 90
    assert len(fields) > 300
    for name, field in fields:
        assert type(field) not in UNUSED, name
        for message in field.error_messages.values():
            assert not is_framework_s(message), name
        for validator in field.validators:
            message = getattr(validator, "message", "")
            assert not is_framework_s(message), (name, validator)


def test_no_form_or_formset_says_them_as_a_whole():
    load_all()
    for base in (forms.BaseForm, BaseFormSet):
        for kind in filter(ours, kinds_below(base)):
            whole = {
                **messages_of(kind),
                **getattr(kind, "error_messages", {}),
            }
            for message in whole.values():
                assert not is_framework_s(message), kind


@pytest.mark.parametrize("code", ["too_short", "too_common", "too_similar"])
def test_passwords_are_refused_in_our_words(code):
    assert f"password_{code}" in WORDS


FIELDS = {
    "blank": (forms.CharField(), "", "This is blank. Fill it in."),
    "long": (
        forms.CharField(max_length=3),
        "abcd",
        "Use at most 3 characters. This has 4.",
    ),
    "count": (forms.IntegerField(), "two", "Enter a whole number, like 12."),
    "many": (forms.IntegerField(max_value=9), "10", "Enter 9 or less."),
    "number": (forms.DecimalField(), "x", "Enter a number, like 42310."),
    "digits": (
        forms.DecimalField(max_digits=3),
        "1234",
        "Enter a number of at most 3 digits.",
    ),
    "day": (forms.DateField(), "soon", "Enter a date, like Nov 30, 2026."),
    "hour": (forms.TimeField(), "soon", "Enter a time, like 7:00 AM."),
    "email": (
        forms.EmailField(),
        "nowhere",
        "Enter an email address, like sam@example.org.",
    ),
    "choice": (
        forms.ChoiceField(choices=[("a", "A")]),
        "b",
        "“b” isn't one of the choices. Choose one from the list.",
    ),
    "file": (forms.FileField(), None, "Choose a file."),
}


@pytest.mark.parametrize("name", FIELDS)
def test_error_says_what_to_enter(name):
    field, typed, words = FIELDS[name]

    with pytest.raises(ValidationError) as refused:
        field.clean(typed)

    assert refused.value.messages == [words]


def test_examples_are_in_the_form_of_the_reader_s_country():
    field = forms.DateField()

    with local.override("DE"):
        with pytest.raises(ValidationError) as refused:
            field.clean("soon")
        assert refused.value.messages == ["Enter a date, like 30 Nov 2026."]


def test_formset_with_a_piece_missing_says_so():
    lines = forms.formset_factory(forms.Form)({})

    assert lines.non_form_errors() == ["This page is out of date. Load it again."]


def test_validators_that_stand_alone_say_our_words():
    assert validators.validate_email.message.startswith("Enter an email address")
