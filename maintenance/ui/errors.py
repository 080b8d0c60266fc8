"""What a form says is wrong, in our words: what to enter, with an example. They take
the place of the framework's own for every field, so that no form repeats them."""

from datetime import date, time
from typing import Any

from django import forms
from django.core import validators
from django.db import models
from django.forms.formsets import BaseFormSet
from django.utils.functional import lazy

from .words import clock_words_of, day_words


def _like_a_day() -> str:
    return f"Enter a date, like {day_words(date(2026, 11, 30))}."


def _like_a_time() -> str:
    return f"Enter a time, like {clock_words_of(time(7))}."


# Their examples are in the form of the country of whom reads them.
A_DAY, A_TIME = lazy(_like_a_day, str)(), lazy(_like_a_time, str)()
A_NUMBER = "Enter a number, like 42310."
A_WHOLE_NUMBER = "Enter a whole number, like 12."
AN_ADDRESS = "Enter an email address, like sam@example.org."
A_LIST = "Choose from the list."
NOT_A_CHOICE = "“%(value)s” isn't one of the choices. Choose one from the list."
NO_FILE = "No file arrived. Choose it again."
OUT_OF_DATE = "This page is out of date. Load it again."

FIELDS: dict[type[forms.Field], dict[str, Any]] = {
    forms.Field: {"required": "This is blank. Fill it in."},
    forms.IntegerField: {"required": A_WHOLE_NUMBER, "invalid": A_WHOLE_NUMBER},
    forms.FloatField: {"required": A_NUMBER, "invalid": A_NUMBER},
    forms.DecimalField: {"required": A_NUMBER, "invalid": A_NUMBER},
    forms.DateField: {"required": A_DAY, "invalid": A_DAY},
    forms.TimeField: {"required": A_TIME, "invalid": A_TIME},
    forms.EmailField: {"required": AN_ADDRESS},
    forms.FileField: {
        "required": "Choose a file.",
        "invalid": NO_FILE,
        "missing": NO_FILE,
        "empty": "This file is empty. Choose another.",
        "max_length": "This file's name is too long. Rename it to at most %(max)d "
        "characters.",
        "contradiction": "Choose a new file or clear the old one, not both.",
    },
    forms.ImageField: {
        "invalid_image": "This isn't a photo that can be read. Choose a JPEG or PNG."
    },
    forms.BooleanField: {"required": "Check this box, or go back."},
    forms.ChoiceField: {"required": "Choose one.", "invalid_choice": NOT_A_CHOICE},
    forms.MultipleChoiceField: {
        "required": "Choose at least one.",
        "invalid_choice": NOT_A_CHOICE,
        "invalid_list": A_LIST,
    },
    forms.ModelChoiceField: {
        "required": "Choose one.",
        "invalid_choice": "That isn't one of the choices. Choose one from the list.",
    },
    forms.ModelMultipleChoiceField: {
        "required": "Choose at least one.",
        "invalid_choice": NOT_A_CHOICE,
        "invalid_list": A_LIST,
        "invalid_pk_value": "“%(pk)s” isn't one of the choices. Choose from the list.",
    },
    forms.UUIDField: {"invalid": OUT_OF_DATE},
    forms.URLField: {"invalid": "Enter a web address, like https://example.org."},
}
VALIDATORS: dict[type, str] = {
    validators.EmailValidator: AN_ADDRESS,
    validators.MaxValueValidator: "Enter %(limit_value)s or less.",
    validators.MinValueValidator: "Enter %(limit_value)s or more.",
    validators.StepValueValidator: "Enter a multiple of %(limit_value)s.",
    validators.MaxLengthValidator: (
        "Use at most %(limit_value)d characters. This has %(show_value)d."
    ),
    validators.MinLengthValidator: (
        "Use at least %(limit_value)d characters. This has %(show_value)d."
    ),
    validators.RegexValidator: "This can't be read. Enter it another way.",
    validators.ProhibitNullCharactersValidator: (
        "This has a character that can't be kept. Type it again."
    ),
    validators.FileExtensionValidator: (
        "A .%(extension)s file can't be used. Choose one of: %(allowed_extensions)s."
    ),
}
DIGITS: dict[str, Any] = {
    "invalid": A_NUMBER,
    "max_digits": "Enter a number of at most %(max)s digits.",
    "max_decimal_places": "Enter a number with at most %(max)s decimals.",
    "max_whole_digits": "Enter a number with at most %(max)s digits before the point.",
}
LINES: dict[str, Any] = {
    "missing_management_form": OUT_OF_DATE,
    "too_many_forms": "Fill in at most %(num)d lines.",
    "too_few_forms": "Fill in at least %(num)d lines.",
}
# What a form made from a model may say beyond its fields.
ROWS = {
    "blank": "This is blank. Fill it in.",
    "null": "This is blank. Fill it in.",
    "invalid_choice": NOT_A_CHOICE,
    "unique": "You already have one like this. Enter another.",
}


def use_our_words() -> None:
    """As the program starts."""
    for field, words in FIELDS.items():
        own = field.__dict__.get("default_error_messages", {})
        field.default_error_messages = {**own, **words}
    for validator, said in VALIDATORS.items():
        validator.message = said  # type: ignore[attr-defined]
    validators.DecimalValidator.messages = DIGITS
    BaseFormSet.default_error_messages = LINES
    models.Field.default_error_messages = {
        **models.Field.default_error_messages,
        **ROWS,
    }
