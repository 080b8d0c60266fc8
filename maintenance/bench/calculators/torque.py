"""Torque: units, the wrench, the adapter, calibration."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench import torque, torque_answers
from maintenance.ui.forms import DayInput

from ..fields import FigureField, NumberField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = gettext_lazy("Torque")
UNITS = [(unit, unit) for unit in ("ft·lbf", "N·m", "in·lbf", "kgf·m")]


class TorqueForm(CalculatorForm):
    """Torque typed in the unit chosen beside it."""

    torque = NumberField(label=gettext_lazy("Specified torque"), what="The torque")
    unit = forms.ChoiceField(label=gettext_lazy("In"), choices=UNITS)


def in_units(data: dict[str, Any]) -> list[Line]:
    return [
        line(unit, torque_answers.in_unit(data["torque"], data["unit"], unit), 2)
        for unit in ("ft·lbf", "N·m", "in·lbf", "kgf·m")
        if unit != data["unit"]
    ]


class WrenchForm(TorqueForm):
    full_scale = NumberField(
        label=gettext_lazy("Full scale of the wrench"), what="The full scale"
    )
    lowest_mark = NumberField(
        label=gettext_lazy("Its lowest mark, if it has one"),
        required=False,
        what="The lowest mark must lie below the full scale.",
    )
    wrench_unit = forms.ChoiceField(label=gettext_lazy("In"), choices=UNITS)


VERDICTS = {
    "fits": gettext_lazy("It fits"),
    "low_end": gettext_lazy("It covers the figure, but only at its low end"),
    "below_scale": gettext_lazy("It does not: the figure is below its scale"),
    "above_scale": gettext_lazy("It does not: the figure is above its scale"),
}


def wrench(data: dict[str, Any]) -> list[Line]:
    torque_answers.refuse_implausible(data["torque"], data["unit"])
    torque_answers.refuse_implausible(
        data["full_scale"], data["wrench_unit"], what="The full scale"
    )
    own = torque.Wrench(data["full_scale"], data["wrench_unit"], data["lowest_mark"])
    fit = torque.wrench_fit(own, data["torque"], data["unit"])
    usable = torque_answers.lowest_usable(own, data["torque"], data["unit"])
    return [
        Line(_("The wrench"), str(VERDICTS[fit.verdict])),
        Line(_("The figure on its scale"), figure(fit.target, own.unit)),
        line(_("To be used from"), usable),
    ]


class AdapterForm(TorqueForm):
    length = FigureField(
        label=gettext_lazy("Wrench: from the grip to the middle of the drive"),
        unit="in",
        metric="mm",
        what="The length",
    )
    extension = FigureField(
        label=gettext_lazy("Adapter: from the drive to the middle of the fastener"),
        unit="in",
        metric="mm",
        what="The length",
    )
    angle = NumberField(
        label=gettext_lazy("Angle to the handle (degrees)"),
        initial="0",
        what="Give the angle of the adapter between -180 and 180 degrees.",
    )


def adapter(data: dict[str, Any]) -> list[Line]:
    found = torque_answers.adapter(
        data["torque"],
        data["unit"],
        length=data["length"],
        extension=data["extension"],
        angle=data["angle"],
    )
    return [line(_("Set the wrench to"), found)]


class ToleranceForm(TorqueForm):
    percent = NumberField(
        label=gettext_lazy("Tolerance (%)"),
        initial="4",
        what="Give the tolerance in percent, from 0 to below 100.",
    )


def tolerance(data: dict[str, Any]) -> list[Line]:
    low, high = torque_answers.tolerance(data["torque"], data["unit"], data["percent"])
    return [line(_("From"), low), line(_("To"), high)]


class CalibrationForm(CalculatorForm):
    calibrated_on = forms.DateField(
        label=gettext_lazy("Last calibrated on"), widget=DayInput
    )
    cycles = forms.IntegerField(
        label=gettext_lazy("Clicks since then, about"),
        min_value=0,
        max_value=1_000_000,
        initial=0,
    )
    mishap = forms.BooleanField(
        label=gettext_lazy("It was dropped or overloaded"), required=False
    )


REASONS = {
    "time": gettext_lazy("a year has passed"),
    "cycles": gettext_lazy("it has clicked 5,000 times"),
    "mishap": gettext_lazy("it was dropped or overloaded"),
}


def calibration(data: dict[str, Any]) -> list[Line]:
    about = {"as_of": data["today"], "cycles": data["cycles"], "mishap": data["mishap"]}
    state = torque.calibration(data["calibrated_on"], **about)
    left = torque_answers.cycles_left(data["calibrated_on"], **about)
    why = ", ".join(str(REASONS[reason]) for reason in state.reasons)
    return [
        Line(
            _("Calibration"), _("due: %(why)s") % {"why": why} if why else _("not due")
        ),
        Line(_("By its date"), f"{state.due_on:%-d %b %Y}"),
        line(_("Clicks left"), left, 0),
    ]


class ThreadsForm(TorqueForm):
    diameter = NumberField(
        label=gettext_lazy("Bolt diameter (mm)"), initial="14", what="The diameter"
    )


THREADS = (
    ("dry", gettext_lazy("Dry threads")),
    ("oiled", gettext_lazy("Oiled threads")),
    ("anti_seize", gettext_lazy("Anti-seize on the threads")),
    ("rusty", gettext_lazy("Rusty threads")),
)


def threads(data: dict[str, Any]) -> list[Line]:
    """The same torque by the state of the threads."""
    torque_answers.refuse_implausible(data["torque"], data["unit"])
    found = []
    for key, words in THREADS:
        load = torque.clamp_load(
            data["torque"],
            data["unit"],
            diameter=data["diameter"],
            threads=key,  # type: ignore[arg-type]
        )
        told = _("%(nominal)s kN, really %(low)s to %(high)s kN") % {
            "nominal": round(load.nominal),
            "low": round(load.low),
            "high": round(load.high),
        }
        found.append(Line(str(words), told, "F = T ÷ (K · D)", CLAMP_SOURCE, CLAMP_USE))
    return found


CLAMP_SOURCE = gettext_lazy(
    "T = K · D · F with the friction factors of the published tables in the core."
)
CLAMP_USE = gettext_lazy(
    "To compare, never to choose a torque: the maker's figure says dry or oiled."
)

CALCULATORS = (
    Calculator(
        "torque_units",
        gettext_lazy("Torque in another unit"),
        GROUP,
        gettext_lazy("Foot-pounds, newton meters, inch-pounds."),
        TorqueForm,
        in_units,
        ("foot pounds", "newton meters", "Nm", "ft lb", "inch pounds"),
    ),
    Calculator(
        "torque_wrench",
        gettext_lazy("Does the wrench fit the figure?"),
        GROUP,
        gettext_lazy("Whether a torque wrench may be used for a specified torque."),
        WrenchForm,
        wrench,
        ("lug nuts", "wrench range", "torque wrench"),
    ),
    Calculator(
        "torque_adapter",
        gettext_lazy("What to set with a crow-foot or adapter"),
        GROUP,
        gettext_lazy("An adapter lengthens the wrench: the setting has to be less."),
        AdapterForm,
        adapter,
        ("crowfoot", "extension"),
    ),
    Calculator(
        "torque_tolerance",
        gettext_lazy("Lowest and highest torque within a tolerance"),
        GROUP,
        gettext_lazy("The band that a tolerance in percent allows."),
        ToleranceForm,
        tolerance,
    ),
    Calculator(
        "torque_calibration",
        gettext_lazy("Is the wrench due for calibration?"),
        GROUP,
        gettext_lazy("By the date, by the clicks, and after a drop."),
        CalibrationForm,
        calibration,
        ("torque wrench calibration",),
    ),
    Calculator(
        "torque_threads",
        gettext_lazy("Dry or oiled threads"),
        GROUP,
        gettext_lazy("How much more the same torque clamps when threads are oiled."),
        ThreadsForm,
        threads,
        ("anti-seize", "clamp load", "oil on studs"),
    ),
)
