"""Propane: filling, how long it lasts, and when a cylinder is to be requalified."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench import cylinders, propane
from maintenance.core.bench.answers import BenchError, num
from maintenance.ui.forms import DayInput
from maintenance.ui.words import day_words

from ..fields import FigureField, NumberField
from .base import Calculator, CalculatorForm, Line, line

GROUP = gettext_lazy("Propane")


class FillForm(CalculatorForm):
    water_capacity = FigureField(
        label=gettext_lazy("WC stamped on the cylinder's collar"),
        unit="lb",
        metric="lb",
        required=False,
        what="The water capacity",
    )
    gallons = FigureField(
        label=gettext_lazy("or the water volume of a built-in tank"),
        unit="gal",
        metric="L",
        required=False,
        what="The volume of the tank",
    )


def fill(data: dict[str, Any]) -> list[Line]:
    lines = []
    if data["water_capacity"] is not None:
        found = propane.fill_by_weight(data["water_capacity"])
        lines.append(line(_("The cylinder holds"), found))
    if data["gallons"] is not None:
        found = propane.fill_by_volume(data["gallons"])
        heat = propane.heat_of_gallons(found.value)
        lines += [line(_("The tank holds"), found), line(_("Heat in it"), heat, 0)]
    if not lines:
        raise BenchError(_("Give the WC of a cylinder or the volume of a tank."))
    return lines


class HoursForm(CalculatorForm):
    pounds = FigureField(
        label=gettext_lazy("Propane left"), unit="lb", metric="kg", what="The propane"
    )
    demand = NumberField(
        label=gettext_lazy("The appliances burn together (BTU an hour)"),
        what="The demand",
        initial="30000",
    )
    duty = NumberField(
        label=gettext_lazy("Part of the time they burn (%)"),
        initial="30",
        what="The duty",
        times=100,
    )


def hours(data: dict[str, Any]) -> list[Line]:
    heat = propane.heat_of_pounds(data["pounds"])
    burner = propane.Appliance("", data["demand"], data["duty"] / 100)
    left = propane.hours_left(heat, [burner])
    days = _("%(days)s days") % {"days": num(left.value / 24, 1)}
    return [
        line(_("It lasts"), left),
        Line(_("That is"), days),
        line(_("Heat in it"), heat, 0),
    ]


class MarkForm(CalculatorForm):
    kind = forms.ChoiceField(
        label=gettext_lazy("It is"),
        choices=[
            ("dot", gettext_lazy("a portable cylinder (DOT)")),
            ("asme", gettext_lazy("a tank built into the rig (ASME)")),
        ],
    )
    made = forms.DateField(
        label=gettext_lazy("First test date on the collar (any day of the month)"),
        widget=DayInput,
    )
    mark = forms.ChoiceField(
        label=gettext_lazy("Last mark"),
        choices=[
            ("new", gettext_lazy("none yet")),
            ("volumetric", gettext_lazy("a date without a letter")),
            ("S", gettext_lazy("a date with S")),
            ("E", gettext_lazy("a date with E")),
        ],
    )
    marked = forms.DateField(
        label=gettext_lazy("Date of that mark"), widget=DayInput, required=False
    )


def requalification(data: dict[str, Any]) -> list[Line]:
    if data["mark"] != "new" and data["marked"] is None:
        raise BenchError(_("Give the date of the last mark."))
    try:
        found = cylinders.requalification(
            data["kind"], data["made"], mark=data["mark"], marked=data["marked"]
        )
    except ValueError as error:
        raise BenchError(str(error)) from None
    if found is None:
        return [Line(_("Requalification"), _("a built-in tank has no such date"))]
    late = found.due < data["today"]
    told = _("%(day)s, which is past: no shop may fill it") if late else "%(day)s"
    return [
        Line(
            _("Good to be filled until"),
            told % {"day": day_words(found.due)},
            _("%(years)d years from %(start)s")
            % {"years": found.years, "start": day_words(found.start)},
            "49 CFR 180.209(e) and (g), 180.213",
            _("To the end of the month. The shop that fills it looks at it first."),
        )
    ]


class LeakForm(CalculatorForm):
    pressure = NumberField(
        label=gettext_lazy("Lock-up pressure a shop measured (inches of water)"),
        what="The pressure",
    )


def lock_up(data: dict[str, Any]) -> list[Line]:
    found = propane.lock_up(data["pressure"])
    name, told = _("The regulator"), _("within the limit")
    if not found.passes:
        told = _("too high: a gas shop renews it")
    return [Line(name, told, source=found.source, cautions=found.cautions)]


CALCULATORS = (
    Calculator(
        "propane_fill",
        gettext_lazy("How much propane goes in"),
        GROUP,
        gettext_lazy("A cylinder by weight, a built-in tank by volume."),
        FillForm,
        fill,
        ("80 percent", "WC", "tare"),
    ),
    Calculator(
        "propane_hours",
        gettext_lazy("How long the propane lasts"),
        GROUP,
        gettext_lazy("From pounds, burners, and how much of the time they burn."),
        HoursForm,
        hours,
        ("BTU", "furnace runtime", "gas left"),
    ),
    Calculator(
        "cylinder_date",
        gettext_lazy("When is the cylinder to be requalified?"),
        GROUP,
        gettext_lazy("From the dates and letters on its collar."),
        MarkForm,
        requalification,
        ("recertify", "expired tank", "12 years"),
    ),
    Calculator(
        "propane_lock_up",
        gettext_lazy("Is the regulator's lock-up pressure in order?"),
        GROUP,
        gettext_lazy("For the figure that a gas shop measured."),
        LeakForm,
        lock_up,
        ("regulator", "manometer", "water column"),
    ),
)
