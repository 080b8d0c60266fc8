"""Form fields of plans: a figure with its unit."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from maintenance.core.units import UnitError, find_unit, parse_number
from maintenance.library.model import MEASURE_UNITS
from maintenance.plans.fields import DASH
from maintenance.plans.services import MakersValue

FIGURE = re.compile(r"(?P<number>-?[0-9][0-9.,]*)\s*(?P<unit>.*)")


class MakersFigureField(forms.CharField):
    """A figure with its unit, or a range: `25 ft-lb`, `90-120 ft·lbf`, `12.4 V`.

    The value cleaned is a `MakersValue` without its name.
    """

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> MakersValue | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return figure_of(text)
        except UnitError as error:
            raise ValidationError(str(error)) from None


def figure_of(text: str) -> MakersValue:
    low, *rest = DASH.split(text.strip(), maxsplit=1)
    if not rest or not rest[0].lstrip("-")[:1].isdigit():  # of the unit: 25 ft-lb
        low, rest = text.strip(), []
    found = FIGURE.fullmatch(rest[0] if rest else low)
    if found is None:
        raise UnitError("Enter a figure with its unit, like 25 ft-lb.")
    value, unit = parse_number(found["number"]), unit_of(found["unit"])
    if not rest:
        return MakersValue("", value, unit)
    return MakersValue("", parse_number(FIGURE.sub(r"\1", low)), unit, value)


def unit_of(text: str) -> str:
    """The units of the library besides those that can be converted: %, Hz, pH."""
    if not text.strip():
        raise UnitError("Enter the unit too, like ft-lb, psi, V or qt.")
    own = {unit.casefold(): unit for unit in MEASURE_UNITS}
    return own.get(text.strip().casefold()) or find_unit(text)
