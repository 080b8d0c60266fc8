"""Form fields for numbers and measures as people type them, with comma or point."""

from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from maintenance.core.units import (
    UnitError,
    convert,
    in_marks,
    parse_measure,
    parse_number,
    show_number,
)

from .errors import A_NUMBER

LARGEST = Decimal("9999999.9")


def typed_number(value: Decimal) -> str:
    """As somebody types it who knows the decimal mark of the household's country."""
    return in_marks(f"{value.normalize():f}")


class MeasureField(forms.CharField):
    """A value in `unit`; another unit of the same quantity is converted.

    `42,310.5`, `42310,5` and `42310 mi` are all understood. Rounded to `step`.
    """

    default_error_messages: ClassVar = {"required": A_NUMBER}

    def __init__(
        self, *, unit: str, least: str = "0", step: str = "0.1", **kwargs: Any
    ) -> None:
        kwargs.setdefault("max_length", 24)
        super().__init__(**kwargs)
        self.unit, self.least, self.step = unit, Decimal(least), Decimal(step)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def prepare_value(self, value: Any) -> Any:
        return typed_number(value) if isinstance(value, Decimal) else value

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            given = parse_measure(text, self.unit)
            found = convert(given.value, given.unit, self.unit)
        except UnitError as error:
            raise ValidationError(str(error)) from None
        found = found.quantize(self.step)
        if not self.least <= found <= LARGEST:
            raise ValidationError(
                "Enter a value from %(least)s to %(most)s %(unit)s.",
                params={
                    "least": show_number(self.least),
                    "most": show_number(LARGEST),
                    "unit": self.unit,
                },
            )
        return found


class NumberField(forms.DecimalField):
    """A number as people type it, with comma or point."""

    widget = forms.TextInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and value.strip():
            try:
                return super().to_python(parse_number(value))
            except UnitError as error:
                raise ValidationError(str(error)) from None
        return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        return typed_number(value) if isinstance(value, Decimal) else value
