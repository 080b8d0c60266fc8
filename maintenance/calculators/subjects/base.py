"""What a calculator consists of, and how its answers are put into words."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.core.calculators.answers import Answer, CalculatorError, num
from maintenance.core.units import UnitError, convert
from maintenance.ui.local import emergency_number, in_country

from ..fields import CountField, FigureField

# A figure is shown in both where people use both.
BESIDE = {
    "°F": ("°C",),
    "°C": ("°F",),
    "psi": ("kPa", "bar"),
    "bar": ("psi",),
    "kPa": ("psi",),
    "lb": ("kg",),
    "kg": ("lb",),
    "gal": ("L",),
    "fl oz": ("mL",),
    "mm": ("in",),
    "ft·lbf": ("N·m",),
    "N·m": ("ft·lbf",),
    "in·lbf": ("N·m",),
}


@dataclass(frozen=True)
class Line:
    """One line of a result; only `what` and `figure` are always there."""

    what: str
    figure: str
    formula: str = ""
    source: str = ""
    validity: str = ""
    cautions: tuple[str, ...] = ()


def line(what: str, answer: Answer | None, places: int = 1) -> Line:
    """An answer of the core in words; None: it never comes to that."""
    if answer is None:
        return Line(what, "Never, by these figures")
    return Line(
        what,
        figure(answer.value, answer.unit, places),
        answer.formula,
        answer.source,
        answer.validity,
        answer.cautions,
    )


def figure(value: Decimal, unit: str, places: int = 1) -> str:
    """`14.2 psi (97.9 kPa)`: the value, and beside it the other usual unit."""
    shown = f"{num(value, places)} {unit}".strip()
    try:
        beside = [
            f"{num(convert(value, unit, other), _places(other, places))} {other}"
            for other in BESIDE.get(unit, ())
        ]
    except UnitError:
        return shown
    return f"{shown} ({', '.join(beside)})" if beside else shown


def _places(unit: str, places: int) -> int:
    """No more digits than the figure itself deserves; a bar is many psi."""
    return 2 if unit == "bar" else min(places, 1)


class CalculatorForm(forms.Form):
    """Its figures take the household's units; another may be typed beside a number."""

    def __init__(self, *args: Any, metric: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, FigureField):
                field.show_in(metric=metric)

    def refuse(self, error: CalculatorError) -> None:
        """Say it at the field that it is about, if one is; its range in its unit."""
        for name, field in self._fields_of(error):
            told = str(error)
            if error.limits is not None:
                told = f"{error.what} must be {field.plausible(error.limits)}."
            elif error.plausible:
                told = f"{error.what} must be {error.plausible}."
            self.add_error(name, told)
        if not self.errors:
            self.add_error(None, str(error))

    def _fields_of(
        self, error: CalculatorError
    ) -> list[tuple[str, "FigureField | CountField"]]:
        """Several fields may hold a weight: those beyond its limits are meant."""
        named = [
            (name, field)
            for name, field in self.fields.items()
            if isinstance(field, FigureField | CountField)
            and error.what in field.what
            and self.cleaned_data.get(name) is not None
        ]
        if error.limits is None:
            return named
        return [
            (name, field)
            for name, field in named
            if field.is_beyond(self.cleaned_data[name], error.limits)
        ]


@dataclass(frozen=True)
class Calculator:
    """Which work its figure is for, the library says."""

    key: str
    title: str
    group: str
    about: str
    form: type[CalculatorForm]
    reckon: Callable[[dict[str, Any]], Sequence[Line]]
    also_called: tuple[str, ...] = ()


def cautions_of(lines: Sequence[Line]) -> list[str]:
    """Each once, in order: they stand above the figures."""
    told = dict.fromkeys(text for one in lines for text in one.cautions)
    return in_country(list(told), emergency_number())


def sources_of(lines: Sequence[Line]) -> list[str]:
    return list(dict.fromkeys(str(one.source) for one in lines if one.source))


def validity_of(lines: Sequence[Line]) -> list[str]:
    return list(dict.fromkeys(str(one.validity) for one in lines if one.validity))
