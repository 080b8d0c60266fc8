"""The question which wheels were off, in forms that have no wheels of their own."""

from typing import Any

from django import forms

from maintenance.households.refusals import Refused
from maintenance.ui.number_fields import MeasureField
from maintenance.vehicles.models import WHEEL_PLACES, Rig
from maintenance.work_sheets.lugs import FigureOrigin, TorqueUnit

from .torque import Wheels
from .wheels_told import WheelWork

NONE = "none"
NOBODY = (NONE, "No wheel was off")
WHEEL_FIELDS = ("wheels_off", "torque", "torque_from")


class AsksWheels(forms.Form):
    """Asks once it turns out that wheels were off. Fields are there from the start, so
    that the answer is read; they are shown when `asked_wheels`."""

    asked_wheels = False

    def add_wheels(self, rig: Rig) -> None:
        self.wheel_choices = [(p, f"{p}, {WHEEL_PLACES[p]}") for p in rig.places]
        self.fields["wheels_off"] = forms.MultipleChoiceField(
            label="Which wheels were off?",
            required=False,
            choices=[*self.wheel_choices, NOBODY],
            widget=forms.CheckboxSelectMultiple,
        )
        self.fields["torque"] = MeasureField(
            label="Specified torque (ft·lbf)",
            unit=TorqueUnit.FOOT_POUNDS,
            required=False,
            help_text="From the invoice or manual. Leave blank if you don't have it.",
        )
        self.fields["torque_from"] = forms.ChoiceField(
            label="The figure is from",
            choices=[("", "—"), *FigureOrigin.choices],
            required=False,
        )

    def ask_wheels(self, work: WheelWork) -> None:
        """Show the question. Who only used words may have meant something else."""
        if work.surely:
            fields: dict[str, Any] = self.fields
            fields["wheels_off"].choices = self.wheel_choices
        self.show_wheels()

    def show_wheels(self) -> None:
        if not self.asked_wheels:
            self.layout.extend(WHEEL_FIELDS)  # type: ignore[attr-defined]
        self.asked_wheels = True

    def wheels_for(self, work: WheelWork | None) -> Wheels:
        """The wheels that were off; refused until the question was answered."""
        if work is None:
            return Wheels()
        data: dict[str, Any] = self.cleaned_data
        self.ask_wheels(work)
        off = frozenset(data["wheels_off"]) - {NONE}
        if not off and (work.surely or NONE not in data["wheels_off"]):
            raise Refused(work.question, field="wheels_off")
        return Wheels(off=off, figure=data["torque"], origin=data["torque_from"])
