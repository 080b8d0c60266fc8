"""Tires: date code, pressure and temperature, load, tread, warning level; the VIN."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench import pressure, tires, tread, vin, weights
from maintenance.core.bench.answers import BenchError, num
from maintenance.core.units import convert
from maintenance.ui.words import day_words

from ..fields import FigureField, NumberField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = gettext_lazy("Tires")
AGE_RULES = (
    (6, gettext_lazy("six years: some vehicle makers renew here")),
    (10, gettext_lazy("ten years: tire makers' utmost, whatever it looks like")),
)


class DateCodeForm(CalculatorForm):
    tin = forms.CharField(
        label=gettext_lazy("Tire number (DOT …), or its last four digits"),
        max_length=40,
    )


def date_code(data: dict[str, Any]) -> list[Line]:
    try:
        tin = tires.read_tin(data["tin"])
    except tires.TireError as error:
        raise BenchError(str(error)) from None
    code, today = tin.date, data["today"]
    rule = "49 CFR 574.5: full weeks from Sunday"
    week = code.weeks[0]
    lines = [
        Line(
            _("Made in the week from"),
            _("%(from)s to %(to)s")
            % {"from": day_words(week.start), "to": day_words(week.end)},
            source=rule,
        ),
        Line(_("Age"), _age(tires.months_old(code.counts_from, today))),
    ]
    if code.verdict == "ambiguous":
        lines.append(
            Line(
                _("Take care"),
                _("three digits: from before July 2000, the decade is not told"),
            )
        )
    if code.verdict == "warn":
        lines.append(
            Line(
                _("Take care"),
                _("by the rule that year has no week 53; others may count it"),
            )
        )
    for years, words in AGE_RULES:
        over = tires.has_reached(code.counts_from, years, today)
        told = _("past it") if over else _("not reached")
        lines.append(
            Line(
                str(words),
                told,
                validity=_(
                    "Common practice; the makers of tire and vehicle come first."
                ),
            )
        )
    return lines


def _age(months: int) -> str:
    years, rest = divmod(months, 12)
    return _("%(years)d years, %(months)d months") % {"years": years, "months": rest}


class PressureForm(CalculatorForm):
    gauge = FigureField(
        label=gettext_lazy("Cold pressure measured"),
        unit="psi",
        metric="bar",
        what="The pressure",
    )
    measured_at = FigureField(
        label=gettext_lazy("At a temperature of"),
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    expected_at = FigureField(
        label=gettext_lazy("What will it be at"),
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    altitude = FigureField(
        label=gettext_lazy("Altitude"),
        unit="ft",
        metric="m",
        initial="0",
        what="The altitude",
    )


def pressure_at(data: dict[str, Any]) -> list[Line]:
    then = pressure.pressure_at(
        data["gauge"],
        "psi",
        measured_at=data["measured_at"],
        expected_at=data["expected_at"],
        altitude_ft=data["altitude"],
    )
    step = pressure.change_per_ten_degrees(
        data["gauge"], "psi", at=data["measured_at"], altitude_ft=data["altitude"]
    )
    holds = pressure.where_the_rule_holds(data["measured_at"], data["altitude"])
    return [
        line(_("Then it shows"), then),
        line(_("For each 10 °F (5.6 °C)"), step, 2),
        line(_("1 psi for 10 °F is right only at"), holds),
    ]


class WarningForm(CalculatorForm):
    cold = FigureField(
        label=gettext_lazy("Cold pressure by the placard"),
        unit="psi",
        metric="bar",
        what="The pressure",
    )
    measured = FigureField(
        label=gettext_lazy("Measured, if you want"),
        unit="psi",
        metric="bar",
        required=False,
        what="The measured pressure",
    )


def warning(data: dict[str, Any]) -> list[Line]:
    lines = [line(_("Warning level"), pressure.warning_level(data["cold"], "psi"))]
    if data["measured"] is not None:
        low = pressure.under_inflation(data["measured"], data["cold"], "psi")
        lines.append(line(_("Under the placard's pressure by"), low))
    return lines


class LoadForm(CalculatorForm):
    service = forms.CharField(
        label=gettext_lazy("Service description, such as 121/118S"), max_length=20
    )
    load_range = forms.ChoiceField(
        label=gettext_lazy("Load range, if it names one"),
        choices=[("", gettext_lazy("not named")), *((x, x) for x in tires.PLIES)],
        required=False,
    )
    tires = NumberField(
        label=gettext_lazy("Tires on the axle"), initial="2", what="The number of tires"
    )
    dual = forms.BooleanField(label=gettext_lazy("Dual wheels"), required=False)
    rating = FigureField(
        label=gettext_lazy("Axle rating (GAWR), if you want it compared"),
        unit="lb",
        metric="kg",
        required=False,
        what="The rating",
    )


def load(data: dict[str, Any]) -> list[Line]:
    try:
        service = tires.read_service(data["service"])
    except tires.TireError as error:
        raise BenchError(str(error)) from None
    each = tires.carries(service, dual_wheel=data["dual"])
    if each is None:
        raise BenchError(_("This description names no load for dual wheels."))
    count = data["tires"]
    if not 1 <= count <= 8 or count != int(count):
        raise BenchError("The number of tires", num(count), "1 to 8, a whole number")
    source = _("Load index table; 49 CFR 571 keeps the axle rating within the tires'.")
    lines = [
        Line(_("Each tire carries"), figure(each, "kg", 0), source=source),
        Line(_("The axle's tires together"), figure(each * count, "kg", 0)),
    ]
    if data["load_range"]:
        plies = " / ".join(str(n) for n in tires.PLIES[data["load_range"]])
        words = _("%(plies)s ply rating") % {"plies": plies}
        name = _("Load range %(letter)s") % {"letter": data["load_range"]}
        validity = _("A rating, not a count of plies; the load index says the load.")
        lines.append(Line(name, words, validity=validity))
    if data["rating"] is not None:
        rating = convert(weights.margin("", 0, data["rating"]).limit, "lb", "kg")
        margin = tires.axle_margin([each] * int(count), rating)
        words = _("They carry the rating, with") if margin >= 0 else _("Too little by")
        cautions = (
            ()
            if margin >= 0
            else (_("Not fit for this axle: ask a tire shop before driving on it."),)
        )
        lines.append(Line(words, figure(abs(margin), "kg", 0), cautions=cautions))
    return lines


class TreadForm(CalculatorForm):
    depth = FigureField(
        label=gettext_lazy("Tread depth"),
        unit="1/32 in",
        metric="mm",
        what="The tread depth",
    )
    position = forms.ChoiceField(
        label=gettext_lazy("Where"),
        choices=[
            ("steer", gettext_lazy("Steering axle")),
            ("drive", gettext_lazy("Driven or other axle")),
            ("trailer", gettext_lazy("Trailer")),
        ],
    )
    heavy = forms.BooleanField(
        label=gettext_lazy("Vehicle over 10,000 lb (4,536 kg)"), required=False
    )
    winter = forms.BooleanField(label=gettext_lazy("Winter tire"), required=False)


def tread_depth(data: dict[str, Any]) -> list[Line]:
    found = tread.tread_verdicts(
        data["depth"],
        "1/32 in",
        position=data["position"],
        heavy=data["heavy"],
        winter=data["winter"],
    )
    return [
        Line(
            one.rule.source,
            _("enough, %(left)s mm above") % {"left": num(one.left_mm)}
            if one.passes
            else _("too little, by %(left)s mm") % {"left": num(-one.left_mm)},
            one.formula,
            one.rule.source,
        )
        for one in found
    ]


class VinForm(CalculatorForm):
    vin = forms.CharField(
        label=gettext_lazy("Vehicle identification number"), max_length=30
    )


PROBLEMS = {
    "length": gettext_lazy("It must have 17 characters."),
    "alphabet": gettext_lazy(
        "It has characters that no such number has: I, O and Q are never used."
    ),
    "check_digit": gettext_lazy(
        "The check digit does not fit: look for a typing slip. Numbers from "
        "outside North America need not have one."
    ),
}


def vin_check(data: dict[str, Any]) -> list[Line]:
    found = vin.check_vin(data["vin"])
    words = _("it fits") if found.passes else str(PROBLEMS[found.problem or "length"])
    lines = [Line(_("Check of the number"), words, source="49 CFR 565.15(c)")]
    year = vin.model_year(found.vin) if found.passes else None
    if year is not None:
        lines.append(
            Line(
                _("Model year"),
                str(year),
                source="49 CFR 565.15(d)",
                validity=_(
                    "Sure for light vehicles only; of a heavy motorhome or a "
                    "trailer the papers say it."
                ),
            )
        )
    return lines


CALCULATORS = (
    Calculator(
        "tire_date",
        gettext_lazy("How old is the tire?"),
        GROUP,
        gettext_lazy("From the date code of the tire number."),
        DateCodeForm,
        date_code,
        ("DOT code", "tire age", "TIN", "week"),
    ),
    Calculator(
        "tire_pressure",
        gettext_lazy("Cold pressure at another temperature"),
        GROUP,
        gettext_lazy("By the gas law, with the altitude."),
        PressureForm,
        pressure_at,
        ("psi", "10 degrees", "cold morning"),
    ),
    Calculator(
        "tire_warning",
        gettext_lazy("When a tire runs too low"),
        GROUP,
        gettext_lazy("A quarter under the placard's pressure."),
        WarningForm,
        warning,
        ("TPMS", "underinflated"),
    ),
    Calculator(
        "tire_load",
        gettext_lazy("What the tires carry"),
        GROUP,
        gettext_lazy("From the load index, against the axle's rating."),
        LoadForm,
        load,
        ("load index", "GAWR", "load range"),
    ),
    Calculator(
        "tire_tread",
        gettext_lazy("Is the tread deep enough?"),
        GROUP,
        gettext_lazy("By each published rule for its place."),
        TreadForm,
        tread_depth,
        ("32nds", "worn"),
    ),
    Calculator(
        "vin",
        gettext_lazy("Check a VIN"),
        gettext_lazy("Papers"),
        gettext_lazy("Its check digit and model year."),
        VinForm,
        vin_check,
        ("serial", "chassis number"),
    ),
)
