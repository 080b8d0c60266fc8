"""Fields of the calculators: figures with a unit, in the household's units."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from maintenance.core.units import UnitError, convert, parse_measure, parse_number

LARGEST = Decimal("100000000")
TOO_MUCH = _("This is more than can be reckoned with.")


class FigureField(forms.CharField):
    """A figure that is reckoned with in `unit`; who counts kilometers types `metric`.

    Another unit of the same quantity may be typed beside the number. `what` is the
    name by which a calculation refuses it.
    """

    def __init__(
        self, *, unit: str, metric: str = "", what: str = "", **kwargs: Any
    ) -> None:
        kwargs.setdefault("max_length", 24)
        super().__init__(**kwargs)
        self.unit, self.metric, self.what = unit, metric or unit, what
        self.shown = unit
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def show_in(self, *, metric: bool) -> None:
        """Choose the unit that a bare number is taken in, and name it in the label."""
        self.shown = self.metric if metric else self.unit
        if self.shown and f"({self.shown})" not in str(self.label):
            self.label = f"{self.label} ({self.shown})"

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            given = parse_measure(text, self.shown)
            found = convert(given.value, given.unit, self.unit)
        except UnitError as error:
            raise ValidationError(str(error)) from None
        if abs(found) > LARGEST:
            raise ValidationError(TOO_MUCH)
        return found


class NumberField(forms.CharField):
    """A bare number: a count, a part, a percentage. `what` as in `FigureField`."""

    def __init__(self, *, what: str = "", **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 24)
        super().__init__(**kwargs)
        self.what = what
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            found = parse_number(text)
        except UnitError as error:
            raise ValidationError(str(error)) from None
        if abs(found) > LARGEST:
            raise ValidationError(TOO_MUCH)
        return found
