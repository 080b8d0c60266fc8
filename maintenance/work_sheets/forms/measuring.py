"""Fields for what is measured at work, on the work sheet and in the record."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import slugify

from maintenance.core.units import UNITS, UnitError, convert, parse_measure
from maintenance.core.units import parse_number as parse
from maintenance.library.model import Measure, Procedure
from maintenance.plans.figures import number
from maintenance.plans.measures import DATE, EXPIRES, PLACES, Measured
from maintenance.plans.models import PlanItem
from maintenance.plans.papers import is_dated_paper
from maintenance.ui.forms import DayInput
from maintenance.work_sheets.lugs import is_lug_torque

LARGEST = Decimal(9_999_999)
BELOW_ZERO = {"°F", "V", "A"}
FREE_PLACES = 4  # batteries, axles: more than a rig has
STEP = Decimal(1).scaleb(-PLACES)


@dataclass(frozen=True, slots=True)
class MeasureSlot:
    """One value that a procedure asks for, and the field it is entered in.

    `place` is a wheel; `at` is the field in which another place is named.
    """

    measure: Measure
    field: str
    place: str = ""
    at: str = ""


def asked_values(procedure: Procedure, item: PlanItem) -> Iterator[MeasureSlot]:
    for measure in procedure.measures:
        stem = f"m_{slugify(measure.name).replace('-', '_')[:40]}"
        if measure.per == "wheel":
            for place in item.rig.places:
                yield MeasureSlot(measure, f"{stem}_{place}", place=place)
        elif measure.per == "place":
            for number in range(1, FREE_PLACES + 1):
                yield MeasureSlot(measure, f"{stem}_{number}", at=f"at_{number}")
        else:
            yield MeasureSlot(measure, stem)


class MeasuredField(forms.CharField):
    """A measured value; where its unit is one of many, another one is converted."""

    def __init__(self, *, unit: str, **kwargs: Any) -> None:
        super().__init__(max_length=24, required=False, **kwargs)
        self.unit = unit
        typed = "text" if unit == "°F" else "decimal"  # phones: no minus in the latter
        self.widget.attrs.update({"inputmode": typed, "autocomplete": "off"})

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            found = self._value(text).quantize(STEP)
        except UnitError as error:
            raise ValidationError(str(error)) from None
        if found < 0 and self.unit not in BELOW_ZERO:
            raise ValidationError("This can't be below zero.")
        if abs(found) > LARGEST:
            raise ValidationError("This is too large. Check the figure.")
        return found

    def _value(self, text: str) -> Decimal:
        if self.unit in UNITS:
            given = parse_measure(text, self.unit)
            return convert(given.value, given.unit, self.unit)
        return parse(text.removesuffix(self.unit).strip())

    def prepare_value(self, value: Any) -> Any:
        return number(value) if isinstance(value, Decimal) else value


class MeasuresForm(forms.Form):
    """What the procedure of an item measures, and the date on a new paper.

    `without_torque`: of the wheels, where another form asks for it.
    """

    def __init__(
        self,
        *args: Any,
        item: PlanItem,
        procedure: Procedure | None,
        without_torque: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.item, self.procedure = item, procedure
        self.asked = [
            one
            for one in (asked_values(procedure, item) if procedure else ())
            if not (without_torque and is_lug_torque(one.measure))
        ]
        for at in dict.fromkeys(one.at for one in self.asked if one.at):
            label = f"Where, {at.removeprefix('at_')}"
            self.fields[at] = forms.CharField(
                label=label,
                max_length=30,
                required=False,
                help_text="Front axle, house battery 1 …",
            )
        for one in self.asked:
            self.fields[one.field] = MeasuredField(
                unit=self._unit(one.measure), label=_label(one)
            )
        if is_dated_paper(item):
            self.fields["expires"] = forms.DateField(
                label="Date on the new paper",
                widget=DayInput,
                required=False,
                help_text="The last day it's good.",
            )

    def _unit(self, measure: Measure) -> str:
        return measure.unit

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for one in self.asked:
            if one.at and data.get(one.field) is not None and not data.get(one.at):
                self.add_error(one.at, "Enter which one you measured, like LF.")
        return data

    def measured(self) -> list[Measured]:
        data = self.cleaned_data
        found = [
            Measured(
                name=one.measure.name,
                value=data[one.field],
                unit=self._unit(one.measure),
                place=one.place or (data[one.at] if one.at else ""),
            )
            for one in self.asked
            if data.get(one.field) is not None
        ]
        if expires := data.get("expires"):
            found.append(Measured(EXPIRES, expires, DATE))
        return found


def _label(one: MeasureSlot) -> str:
    name = one.measure.name[:1].upper() + one.measure.name[1:]
    number = one.at.removeprefix("at_")
    return f"{name}, {one.place or number}" if one.place or number else name
