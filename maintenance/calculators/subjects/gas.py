"""Propane: filling, how long it lasts, and when a cylinder is due again."""

from typing import Any

from django import forms

from maintenance.core.calculators import cylinders, propane
from maintenance.core.calculators.answers import CalculatorError, num
from maintenance.ui.forms import DayInput
from maintenance.ui.words import day_words

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, line

GROUP = "Propane"


class FillForm(CalculatorForm):
    water_capacity = FigureField(
        label="WC stamped on the cylinder's collar",
        unit="lb",
        metric="lb",
        required=False,
        what="The water capacity",
    )
    gallons = FigureField(
        label="Or the water volume of a built-in tank",
        unit="gal",
        metric="L",
        required=False,
        what="The volume of the tank",
    )


def fill(data: dict[str, Any]) -> list[Line]:
    lines = []
    if data["water_capacity"] is not None:
        found = propane.fill_by_weight(data["water_capacity"])
        lines.append(line("The cylinder holds", found))
    if data["gallons"] is not None:
        found = propane.fill_by_volume(data["gallons"])
        heat = propane.heat_of_gallons(found.value)
        lines += [line("The tank holds", found), line("Heat in it", heat, 0)]
    if not lines:
        raise CalculatorError(
            "Enter a cylinder's WC or a tank's volume, like 47.6 lb or 20 gal."
        )
    return lines


class HoursForm(CalculatorForm):
    pounds = FigureField(
        label="Propane left", unit="lb", metric="kg", what="The propane"
    )
    demand = CountField(
        label="All burners together (BTU per hour)",
        what="The demand",
        initial="30000",
    )
    duty = CountField(
        label="Share of the time they burn (%)",
        initial="30",
        what="The duty",
        times=100,
    )


def hours(data: dict[str, Any]) -> list[Line]:
    heat = propane.heat_of_pounds(data["pounds"])
    burner = propane.Appliance("", data["demand"], data["duty"] / 100)
    left = propane.hours_left(heat, [burner])
    days = f"{num(left.value / 24, 1)} days"
    return [
        line("The propane lasts", left),
        Line("That is", days),
        line("Heat in it", heat, 0),
    ]


class MarkForm(CalculatorForm):
    kind = forms.ChoiceField(
        label="Container",
        choices=[
            ("dot", "Portable cylinder (DOT)"),
            ("asme", "Tank built into the rig (ASME)"),
        ],
    )
    made = forms.DateField(
        label="First test date on the collar (any day of the month)",
        widget=DayInput,
    )
    mark = forms.ChoiceField(
        label="Last mark",
        choices=[
            ("new", "None yet"),
            ("volumetric", "A date without a letter"),
            ("S", "A date with S"),
            ("E", "A date with E"),
        ],
    )
    marked = forms.DateField(label="Date of that mark", widget=DayInput, required=False)


def requalification(data: dict[str, Any]) -> list[Line]:
    if data["mark"] != "new" and data["marked"] is None:
        raise CalculatorError("Enter the date of the last mark.")
    try:
        found = cylinders.requalification(
            data["kind"], data["made"], mark=data["mark"], marked=data["marked"]
        )
    except ValueError as error:
        raise CalculatorError(str(error)) from None
    if found is None:
        return [Line("Requalification", "A built-in tank has no such date")]
    late = found.due < data["today"]
    told = "%(day)s. That is past: no shop may fill it" if late else "%(day)s"
    return [
        Line(
            "May be filled until",
            told % {"day": day_words(found.due)},
            f"{found.years} years from {day_words(found.start)}",
            "49 CFR 180.209(e) and (g), 180.213",
            "Good to the end of the month. The shop that fills it inspects it first.",
        )
    ]


class LeakForm(CalculatorForm):
    pressure = CountField(
        label="Lock-up pressure the shop measured (inches of water)",
        what="The pressure",
    )


def lock_up(data: dict[str, Any]) -> list[Line]:
    found = propane.lock_up(data["pressure"])
    name, told = "The regulator", "Within the limit"
    if not found.passes:
        told = "Too high: have a licensed gas shop replace it"
    return [Line(name, told, source=found.source, cautions=found.cautions)]


CALCULATORS = (
    Calculator(
        "propane_fill",
        "Propane fill limit",
        GROUP,
        "A cylinder by weight, a built-in tank by volume.",
        FillForm,
        fill,
        ("80 percent", "WC", "tare", "how much propane goes in"),
    ),
    Calculator(
        "propane_hours",
        "Propane run time",
        GROUP,
        "From pounds, burners, and how much of the time they burn.",
        HoursForm,
        hours,
        ("BTU", "furnace runtime", "gas left", "how long propane lasts"),
    ),
    Calculator(
        "cylinder_date",
        "Cylinder requalification date",
        GROUP,
        "From the dates and letters on its collar.",
        MarkForm,
        requalification,
        ("recertify", "expired tank", "12 years"),
    ),
    Calculator(
        "propane_lock_up",
        "Regulator lock-up pressure",
        GROUP,
        "For the figure a gas shop measured.",
        LeakForm,
        lock_up,
        ("regulator", "manometer", "water column"),
    ),
)
