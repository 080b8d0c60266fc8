"""Torque: units, the wrench, the adapter, calibration."""

from typing import Any

from django import forms

from maintenance.core.calculators import torque, torque_answers
from maintenance.ui.forms import DayInput

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = "Torque"
UNITS = [(unit, unit) for unit in ("ft·lbf", "N·m", "in·lbf", "kgf·m")]


class TorqueForm(CalculatorForm):
    """Torque typed in the unit chosen beside it."""

    torque = CountField(label="Specified torque", what="The torque")
    unit = forms.ChoiceField(label="In", choices=UNITS)


def in_units(data: dict[str, Any]) -> list[Line]:
    return [
        line(unit, torque_answers.in_unit(data["torque"], data["unit"], unit), 2)
        for unit in ("ft·lbf", "N·m", "in·lbf", "kgf·m")
        if unit != data["unit"]
    ]


class WrenchForm(TorqueForm):
    full_scale = CountField(label="Full scale of the wrench", what="The full scale")
    lowest_mark = CountField(
        label="Its lowest mark (if it has one)",
        required=False,
        what="The lowest mark must lie below the full scale.",
    )
    wrench_unit = forms.ChoiceField(label="In", choices=UNITS)


OUTSIDE = "Does not fit: the figure is outside its range, "
VERDICTS = {
    "fits": "Fits",
    "low_end": "Covers the figure, but only at its low end",
    "below_scale": f"{OUTSIDE}below its lowest mark",
    "above_scale": f"{OUTSIDE}above its full scale",
}


def _verdict(fit: torque.WrenchFit) -> str:
    """Where the lowest mark isn't known, 20 % of full scale is where it begins."""
    if fit.verdict == "low_end" and not fit.covers:
        return f"{OUTSIDE}below 20 % of full scale"
    return VERDICTS[fit.verdict]


def wrench(data: dict[str, Any]) -> list[Line]:
    torque_answers.refuse_implausible(data["torque"], data["unit"])
    torque_answers.refuse_implausible(
        data["full_scale"], data["wrench_unit"], what="The full scale"
    )
    own = torque.Wrench(data["full_scale"], data["wrench_unit"], data["lowest_mark"])
    fit = torque.wrench_fit(own, data["torque"], data["unit"])
    usable = torque_answers.lowest_usable(own, data["torque"], data["unit"])
    return [
        Line("The wrench", _verdict(fit)),
        Line("The figure on its scale", figure(fit.target, own.unit)),
        line("Lowest usable setting", usable),
    ]


class AdapterForm(TorqueForm):
    length = FigureField(
        label="Wrench: from the grip to the middle of the drive",
        unit="in",
        metric="mm",
        what="The length",
    )
    extension = FigureField(
        label="Adapter: from the drive to the middle of the fastener",
        unit="in",
        metric="mm",
        what="The length",
    )
    angle = CountField(
        label="Angle to the handle (degrees)",
        initial="0",
        what="Enter the angle of the adapter between -180 and 180 degrees.",
    )


def adapter(data: dict[str, Any]) -> list[Line]:
    found = torque_answers.adapter(
        data["torque"],
        data["unit"],
        length=data["length"],
        extension=data["extension"],
        angle=data["angle"],
    )
    return [line("Set the wrench to", found)]


class ToleranceForm(TorqueForm):
    percent = CountField(
        label="Tolerance (%)",
        initial="4",
        what="Enter the tolerance in percent, from 0 to below 100.",
    )


def tolerance(data: dict[str, Any]) -> list[Line]:
    low, high = torque_answers.tolerance(data["torque"], data["unit"], data["percent"])
    return [line("From", low), line("To", high)]


class CalibrationForm(CalculatorForm):
    calibrated_on = forms.DateField(label="Last calibrated on", widget=DayInput)
    cycles = forms.IntegerField(
        label="Clicks since then (about)",
        min_value=0,
        max_value=1_000_000,
        initial=0,
    )
    mishap = forms.BooleanField(label="It was dropped or overloaded", required=False)


REASONS = {
    "time": "a year has passed",
    "cycles": "it has clicked 5,000 times",
    "mishap": "it was dropped or overloaded",
}


def calibration(data: dict[str, Any]) -> list[Line]:
    about = {"as_of": data["today"], "cycles": data["cycles"], "mishap": data["mishap"]}
    state = torque.calibration(data["calibrated_on"], **about)
    left = torque_answers.cycles_left(data["calibrated_on"], **about)
    why = ", ".join(REASONS[reason] for reason in state.reasons)
    return [
        Line("Calibration", f"due: {why}" if why else "not due"),
        Line("By its date", f"{state.due_on:%-d %b %Y}"),
        line("Clicks left", left, 0),
    ]


class ThreadsForm(TorqueForm):
    diameter = CountField(label="Bolt diameter (mm)", initial="14", what="The diameter")


THREADS = (
    ("dry", "Dry threads"),
    ("oiled", "Oiled threads"),
    ("anti_seize", "Anti-seize on the threads"),
    ("rusty", "Rusty threads"),
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
        told = (
            f"{round(load.nominal)} kN (in practice {round(load.low)} to "
            f"{round(load.high)} kN)"
        )
        found.append(Line(str(words), told, "F = T ÷ (K · D)", CLAMP_SOURCE, CLAMP_USE))
    return found


CLAMP_SOURCE = (
    "T = K · D · F with the friction factors of the published tables in the core."
)
CLAMP_USE = (
    "Use this to compare, never to choose a torque. The manufacturer's figure says dry "
    "or oiled."
)

CALCULATORS = (
    Calculator(
        "torque_units",
        "Torque in another unit",
        GROUP,
        "Foot-pounds, newton meters, inch-pounds.",
        TorqueForm,
        in_units,
        ("foot pounds", "newton meters", "Nm", "ft lb", "inch pounds"),
    ),
    Calculator(
        "torque_wrench",
        "Torque wrench range",
        GROUP,
        "Whether your torque wrench covers a specified torque.",
        WrenchForm,
        wrench,
        ("lug nuts", "wrench range", "torque wrench"),
    ),
    Calculator(
        "torque_adapter",
        "Wrench setting with a crow-foot or adapter",
        GROUP,
        "An adapter lengthens the wrench, so the setting changes.",
        AdapterForm,
        adapter,
        ("crowfoot", "extension"),
    ),
    Calculator(
        "torque_tolerance",
        "Lowest and highest torque within a tolerance",
        GROUP,
        "The range a tolerance in percent allows.",
        ToleranceForm,
        tolerance,
    ),
    Calculator(
        "torque_calibration",
        "Torque wrench calibration date",
        GROUP,
        "By the date, by the clicks, and after a drop.",
        CalibrationForm,
        calibration,
        ("torque wrench calibration",),
    ),
    Calculator(
        "torque_threads",
        "Dry or oiled threads",
        GROUP,
        "How much harder the same torque clamps on oiled threads.",
        ThreadsForm,
        threads,
        ("anti-seize", "clamp load", "oil on studs"),
    ),
)
