"""Tires: date code, pressure and temperature, load, tread, warning level; the VIN."""

from typing import Any

from django import forms

from maintenance.core.calculators import pressure, tires, tread, vin, weights
from maintenance.core.calculators.answers import CalculatorError, num
from maintenance.core.units import convert
from maintenance.ui.words import day_words

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = "Tires"
AGE_RULES = (
    (6, "six years: some vehicle makers renew here"),
    (10, "ten years: tire makers' utmost, whatever it looks like"),
)


class DateCodeForm(CalculatorForm):
    tin = forms.CharField(
        label="Tire number (DOT …), or its last four digits",
        max_length=40,
    )


TAKE_CARE: dict[str, str] = {
    "ambiguous": "three digits: from before July 2000, the decade is not told",
    "warn": "by the rule that year has no week 53; others may count it",
}


def date_code(data: dict[str, Any]) -> list[Line]:
    try:
        tin = tires.read_tin(data["tin"])
    except tires.TireError as error:
        raise CalculatorError(str(error)) from None
    code, today = tin.date, data["today"]
    rule = "49 CFR 574.5: full weeks from Sunday"
    week = code.weeks[0]
    lines = [
        Line(
            "Made in the week from",
            f"{day_words(week.start)} to {day_words(week.end)}",
            source=rule,
        ),
        Line("Age", _age(tires.months_old(code.counts_from, today))),
    ]
    if code.verdict in TAKE_CARE:
        lines.append(Line("Take care", TAKE_CARE[code.verdict]))
    for years, words in AGE_RULES:
        over = tires.has_reached(code.counts_from, years, today)
        told = "past it" if over else "not reached"
        lines.append(
            Line(
                words,
                told,
                validity="Common practice; the makers of tire and vehicle come first.",
            )
        )
    return lines


def _age(months: int) -> str:
    years, rest = divmod(months, 12)
    return f"{years} years, {rest} months"


class PressureForm(CalculatorForm):
    gauge = FigureField(
        label="Cold pressure measured",
        unit="psi",
        metric="bar",
        what="The pressure",
    )
    measured_at = FigureField(
        label="At a temperature of",
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    expected_at = FigureField(
        label="What will it be at",
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    altitude = FigureField(
        label="Altitude",
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
        line("Then it shows", then),
        line("For each 10 °F (5.6 °C)", step, 2),
        line("1 psi for 10 °F is right only at", holds),
    ]


class WarningForm(CalculatorForm):
    cold = FigureField(
        label="Cold pressure by the placard",
        unit="psi",
        metric="bar",
        what="The pressure",
    )
    measured = FigureField(
        label="Measured, if you want",
        unit="psi",
        metric="bar",
        required=False,
        what="The measured pressure",
    )


def warning(data: dict[str, Any]) -> list[Line]:
    lines = [line("Warning level", pressure.warning_level(data["cold"], "psi"))]
    if data["measured"] is not None:
        low = pressure.under_inflation(data["measured"], data["cold"], "psi")
        lines.append(line("Under the placard's pressure by", low))
    return lines


class LoadForm(CalculatorForm):
    service = forms.CharField(
        label="Service description, such as 121/118S", max_length=20
    )
    load_range = forms.ChoiceField(
        label="Load range, if it names one",
        choices=[("", "not named"), *((x, x) for x in tires.PLIES)],
        required=False,
    )
    tires = CountField(
        label="Tires on the axle", initial="2", what="The number of tires"
    )
    dual = forms.BooleanField(label="Dual wheels", required=False)
    rating = FigureField(
        label="Axle rating (GAWR), if you want it compared",
        unit="lb",
        metric="kg",
        required=False,
        what="The rating",
    )


def load(data: dict[str, Any]) -> list[Line]:
    try:
        service = tires.read_service(data["service"])
    except tires.TireError as error:
        raise CalculatorError(str(error)) from None
    each = tires.carries(service, dual_wheel=data["dual"])
    if each is None:
        raise CalculatorError("This description names no load for dual wheels.")
    count = data["tires"]
    if not 1 <= count <= 8 or count != int(count):
        raise CalculatorError(
            "The number of tires", num(count), "1 to 8, a whole number"
        )
    source = "Load index table; 49 CFR 571 keeps the axle rating within the tires'."
    lines = [
        Line("Each tire carries", figure(each, "kg", 0), source=source),
        Line("The axle's tires together", figure(each * count, "kg", 0)),
    ]
    if data["load_range"]:
        plies = " / ".join(str(n) for n in tires.PLIES[data["load_range"]])
        words = f"{plies} ply rating"
        name = f"Load range {data['load_range']}"
        validity = "A rating, not a count of plies; the load index says the load."
        lines.append(Line(name, words, validity=validity))
    if data["rating"] is not None:
        rating = convert(weights.margin("", 0, data["rating"]).limit, "lb", "kg")
        margin = tires.axle_margin([each] * int(count), rating)
        words = "They carry the rating, with" if margin >= 0 else "Too little by"
        cautions = (
            ()
            if margin >= 0
            else ("Not fit for this axle: ask a tire shop before driving on it.",)
        )
        lines.append(Line(words, figure(abs(margin), "kg", 0), cautions=cautions))
    return lines


class TreadForm(CalculatorForm):
    depth = FigureField(
        label="Tread depth",
        unit="1/32 in",
        metric="mm",
        what="The tread depth",
    )
    position = forms.ChoiceField(
        label="Where",
        choices=[
            ("steer", "Steering axle"),
            ("drive", "Driven or other axle"),
            ("trailer", "Trailer"),
        ],
    )
    heavy = forms.BooleanField(
        label="Vehicle over 10,000 lb (4,536 kg)", required=False
    )
    winter = forms.BooleanField(label="Winter tire", required=False)


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
            f"enough, {num(one.left_mm)} mm above"
            if one.passes
            else f"too little, by {num(-one.left_mm)} mm",
            one.formula,
            one.rule.source,
        )
        for one in found
    ]


class VinForm(CalculatorForm):
    vin = forms.CharField(label="Vehicle identification number", max_length=30)


PROBLEMS = {
    "length": "It must have 17 characters.",
    "alphabet": "It has characters that no such number has: I, O and Q are never used.",
    "check_digit": (
        "The check digit does not fit: look for a typing slip. Numbers from "
        "outside North America need not have one."
    ),
}


def vin_check(data: dict[str, Any]) -> list[Line]:
    found = vin.check_vin(data["vin"])
    words = "it fits" if found.passes else PROBLEMS[found.problem or "length"]
    lines = [Line("Check of the number", words, source="49 CFR 565.15(c)")]
    year = vin.model_year(found.vin) if found.passes else None
    if year is not None:
        lines.append(
            Line(
                "Model year",
                str(year),
                source="49 CFR 565.15(d)",
                validity=(
                    "Sure for light vehicles only; of a heavy motorhome or a "
                    "trailer the papers say it."
                ),
            )
        )
    return lines


CALCULATORS = (
    Calculator(
        "tire_date",
        "How old is the tire?",
        GROUP,
        "From the date code of the tire number.",
        DateCodeForm,
        date_code,
        ("DOT code", "tire age", "TIN", "week"),
    ),
    Calculator(
        "tire_pressure",
        "Cold pressure at another temperature",
        GROUP,
        "By the gas law, with the altitude.",
        PressureForm,
        pressure_at,
        ("psi", "10 degrees", "cold morning"),
    ),
    Calculator(
        "tire_warning",
        "When a tire runs too low",
        GROUP,
        "A quarter under the placard's pressure.",
        WarningForm,
        warning,
        ("TPMS", "underinflated"),
    ),
    Calculator(
        "tire_load",
        "What the tires carry",
        GROUP,
        "From the load index, against the axle's rating.",
        LoadForm,
        load,
        ("load index", "GAWR", "load range"),
    ),
    Calculator(
        "tire_tread",
        "Is the tread deep enough?",
        GROUP,
        "By each published rule for its place.",
        TreadForm,
        tread_depth,
        ("32nds", "worn"),
    ),
    Calculator(
        "vin",
        "Check a VIN",
        "Papers",
        "Its check digit and model year.",
        VinForm,
        vin_check,
        ("serial", "chassis number"),
    ),
)
