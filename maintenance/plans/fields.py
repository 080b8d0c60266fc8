"""Form fields of rules and of other forms: a remembered day, pairs of figures."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from maintenance.core.units import UnitError, parse_number

from .when import When, parse_when

# Between two figures; a minus sign stands before its own figure.
DASH = re.compile(r"(?<=\S)\s*(?:-|\N{EN DASH}|\bto\b)\s*")


class WhenField(forms.CharField):
    """A day, a month or a year, as people remember it."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 24)
        super().__init__(**kwargs)
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> When | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_when(text)
        except ValueError as error:
            raise ValidationError(str(error)) from None


class PairsField(forms.CharField):
    """`50-100`, or for several checks `5-10, 20-25, 40-50`."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 80)
        super().__init__(**kwargs)
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> list[list[Decimal]]:
        text = super().clean(value)
        return [_pair(part.strip()) for part in text.split(",")] if text else []


def _pair(text: str) -> list[Decimal]:
    ends = DASH.split(text)
    try:
        if len(ends) == 2:
            return [parse_number(end) for end in ends]
    except UnitError:
        pass
    raise ValidationError(f"“{text}” isn't a range. Enter it like 50-100.")
