"""Fields of the calculators: figures with a unit, in the household's units."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from maintenance.core.calculators.answers import Limits, num
from maintenance.core.units import UnitError, convert, parse_measure
from maintenance.ui.number_fields import NumberField

LARGEST = Decimal("100000000")
TOO_MUCH = "That number is too large. Enter a smaller one."

Names = str | tuple[str, ...]


def _names(what: Names) -> tuple[str, ...]:
    return (what,) if isinstance(what, str) else what


class FigureField(forms.CharField):
    """A figure that is reckoned with in `unit`; who counts kilometers types `metric`.

    Another unit of the same quantity may be typed beside the number. `what` is the
    name by which a calculation refuses it, or several.
    """

    def __init__(
        self, *, unit: str, metric: str = "", what: Names = "", **kwargs: Any
    ) -> None:
        kwargs.setdefault("max_length", 24)
        super().__init__(**kwargs)
        self.unit, self.metric, self.what = unit, metric or unit, _names(what)
        self.shown = unit
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def show_in(self, *, metric: bool) -> None:
        """Choose the unit that a bare number is taken in, and name it in the label."""
        self.shown = self.metric if metric else self.unit
        if self.shown and f"({self.shown})" not in str(self.label):
            self.label = f"{self.label} ({self.shown})"
        if self.initial and self.shown != self.unit:
            self.initial = self._in_shown(str(self.initial))

    def _in_shown(self, text: str) -> str:
        """A figure to begin with, in the unit that the label names."""
        given = parse_measure(text, self.unit)
        found = convert(given.value, given.unit, self.shown)
        places = 0 if abs(found) >= 10 else 1
        return f"{num(found, places)} {self.shown}"

    def plausible(self, limits: Limits) -> str:
        """The limits in the unit that the label names, if it is one of theirs."""
        try:
            ends = [
                convert(end, limits.unit, self.shown)
                for end in (limits.low, limits.high)
            ]
        except UnitError:
            return f"{num(limits.low, 3)} to {num(limits.high, 3)} {limits.unit}"
        return f"{num(ends[0])} to {num(ends[1])} {self.shown}"

    def is_beyond(self, value: Decimal, limits: Limits) -> bool:
        if limits.unit:
            value = convert(value, self.unit, limits.unit)
        return not limits.low <= value <= limits.high

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            given = parse_measure(text, self.shown)
            found = convert(given.value, given.unit, self.unit)
            convert(found, self.unit, self.metric)  # refuses below absolute zero
        except UnitError as error:
            raise ValidationError(str(error)) from None
        if abs(found) > LARGEST:
            raise ValidationError(TOO_MUCH)
        return found


class CountField(NumberField):
    """A bare number: a count, a part, a percentage. `what` as in `FigureField`.

    `times`: how many of it make one in the core, 100 where percent become a part.
    """

    def __init__(self, *, what: Names = "", times: int = 1, **kwargs: Any) -> None:
        kwargs["error_messages"] = {"max_value": TOO_MUCH, "min_value": TOO_MUCH}
        super().__init__(max_value=LARGEST, min_value=-LARGEST, **kwargs)
        self.what, self.times = _names(what), times

    def plausible(self, limits: Limits) -> str:
        low, high = (num(end * self.times, 3) for end in (limits.low, limits.high))
        return f"{low} to {high} {limits.unit}".strip()

    def is_beyond(self, value: Decimal, limits: Limits) -> bool:
        return not limits.low <= value / self.times <= limits.high
