"""Tires: date code, pressure and temperature, load, tread, warning level; the VIN."""

from datetime import date
from decimal import Decimal
from re import fullmatch
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from maintenance.core.calculators import pressure, tires, tread, vin, weights
from maintenance.core.calculators.answers import CalculatorError, num
from maintenance.core.units import UnitError, convert, parse_measure
from maintenance.ui.words import day_span_words

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = "Tires"
TABLE_SAMPLE = "65 psi 2335 lb\n70 psi 2485 lb"
ROW = (
    r"(?P<pressure>[\d.,]+ *(?:[A-Za-z]+)?)[ \t:;/|-]+(?P<load>[\d.,]+ *(?:[A-Za-z]+)?)"
)
OVERLOADED = (
    "An overloaded tire can burst: don't drive on it. Unload, or set the pressure the "
    "table asks for, never above the limit of the tire or the wheel.",
)
AGE_RULES = (
    (6, "Six years: some vehicle manufacturers replace here"),
    (10, "Ten years: tire manufacturers' limit, however it looks"),
)


class DateCodeForm(CalculatorForm):
    tin = forms.CharField(
        label="Tire number (DOT …), or its last four digits",
        max_length=40,
    )

    def clean_tin(self) -> tires.Tin:
        try:
            return tires.read_tin(self.cleaned_data["tin"])
        except tires.TireError as error:
            raise ValidationError(str(error)) from None


RULE = "49 CFR 574.5: full weeks from Sunday"


def date_code(data: dict[str, Any]) -> list[Line]:
    code, today = data["tin"].date, data["today"]
    return [
        _made(code),
        Line("Age", _age_words(code, today)),
        *_take_care(code, today),
        *(_age_rule(code, years, words, today) for years, words in AGE_RULES),
    ]


def _made(code: tires.DateCode) -> Line:
    """Each week that the code can mean; three digits leave the decade open."""
    if not code.weeks:
        return Line("Made", f"at the end of 20{code.digits[2:]}", source=RULE)
    spans = [day_span_words(one.start, one.end) for one in code.weeks]
    return Line("Made in the week of", ", or ".join(spans), source=RULE)


def _age_words(code: tires.DateCode, today: date) -> str:
    """By each week that it can mean, the youngest last."""
    starts = [week.start for week in code.weeks] or [code.counts_from]
    return ", or ".join(_age(tires.months_old(start, today)) for start in starts)


def _take_care(code: tires.DateCode, today: date) -> list[Line]:
    found = []
    if code.verdict == "ambiguous":
        found.append(
            "Three digits: made before July 2000, and the decade isn't on the tire. "
            "Even the latest makes it too old to travel on."
        )
    if code.verdict == "warn":
        found.append(
            f"20{code.digits[2:]} has no week {code.digits[:2]} by the US rule. A "
            "manufacturer abroad may count otherwise. Read the code again."
        )
    if code.counts_from > today:
        found.append("That week is still to come. Read the code again.")
    return [Line("Take care", words) for words in found]


def _age_rule(code: tires.DateCode, years: int, words: str, today: date) -> Line:
    over = tires.has_reached(code.counts_from, years, today)
    return Line(
        words,
        "past it" if over else "not reached",
        validity="Common practice. The tire and vehicle manufacturers come first.",
    )


def _age(months: int) -> str:
    years, rest = divmod(months, 12)
    return f"{years} years, {rest} months"


class PressureForm(CalculatorForm):
    gauge = FigureField(
        label="Measured cold pressure",
        unit="psi",
        metric="bar",
        what="The pressure",
    )
    measured_at = FigureField(
        label="At this temperature",
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    expected_at = FigureField(
        label="Expected temperature",
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
        line("It will show", then),
        line("For each 10 °F (5.6 °C)", step, 2),
        line("1 psi per 10 °F is right only at", holds),
    ]


class WarningForm(CalculatorForm):
    cold = FigureField(
        label="Cold pressure on the placard",
        unit="psi",
        metric="bar",
        what="The pressure",
    )
    measured = FigureField(
        label="Measured pressure, optional",
        unit="psi",
        metric="bar",
        required=False,
        what="The measured pressure",
    )


def warning(data: dict[str, Any]) -> list[Line]:
    lines = [line("Warning level", pressure.warning_level(data["cold"], "psi"))]
    if data["measured"] is not None:
        low = pressure.under_inflation(data["measured"], data["cold"], "psi")
        lines.append(line("Below the placard's pressure by", low))
    return lines


class LoadForm(CalculatorForm):
    service = forms.CharField(label="Service description, like 121/118S", max_length=20)
    load_range = forms.ChoiceField(
        label="Load range (if given)",
        choices=[("", "Not given"), *((x, x) for x in tires.PLIES)],
        required=False,
    )
    tires = CountField(
        label="Tires on the axle", initial="2", what="The number of tires"
    )
    dual = forms.BooleanField(label="Dual wheels", required=False)
    passenger = forms.BooleanField(
        label="A car tire (marked P, or without LT or ST) on a trailer, truck or van",
        required=False,
    )
    rating = FigureField(
        label="Axle rating (GAWR), optional",
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
    each = tires.carries(service, dual_wheel=data["dual"], passenger=data["passenger"])
    if each is None:
        raise CalculatorError("This service description gives no load for dual wheels.")
    count = data["tires"]
    if not 1 <= count <= 8 or count != int(count):
        raise CalculatorError(
            "The number of tires", num(count), "1 to 8, a whole number"
        )
    source = "Load index table; 49 CFR 571 keeps the axle rating within the tires'."
    lines = [
        Line("Each tire carries", figure(each, "kg", 0), _divided(data), source),
        Line("The axle's tires together", figure(each * count, "kg", 0)),
    ]
    if data["load_range"]:
        plies = " / ".join(str(n) for n in tires.PLIES[data["load_range"]])
        words = f"{plies} ply rating"
        name = f"Load range {data['load_range']}"
        validity = "A rating, not a count of plies. The load index gives the load."
        lines.append(Line(name, words, validity=validity))
    if data["rating"] is not None:
        rating = convert(weights.margin("", 0, data["rating"]).limit, "lb", "kg")
        margin = tires.axle_margin([each] * int(count), rating)
        words = "Above the rating by" if margin >= 0 else "Below the rating by"
        cautions = (
            ()
            if margin >= 0
            else (
                "Overloaded tires can burst. These don't fit this axle: ask a tire "
                "shop before you drive on them.",
            )
        )
        lines.append(Line(words, figure(abs(margin), "kg", 0), cautions=cautions))
    return lines


def _divided(data: dict[str, Any]) -> str:
    """Why a car's tire carries less here than its own load index says."""
    if not data["passenger"]:
        return ""
    return "÷ 1.10: a car tire on a trailer, truck or van (49 CFR 571.110, 571.120)"


class TableLoadForm(CalculatorForm):
    cold = FigureField(
        label="Cold pressure", unit="psi", metric="bar", what="The pressure"
    )
    table = forms.CharField(
        label="Rows of the manufacturer's table: pressure and load of one tire",
        help_text="One row per line, like 65 psi 2335 lb. Single or dual as you drive.",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 5, "placeholder": TABLE_SAMPLE}),
    )
    weight = FigureField(
        label="Scale weight on this tire, optional",
        unit="lb",
        metric="kg",
        required=False,
        what="The weight",
    )

    def clean_table(self) -> list[tuple[Decimal, Decimal]]:
        rows = self.cleaned_data["table"].strip().splitlines()
        return [_row(text) for text in rows if text.strip()]


def _row(text: str) -> tuple[Decimal, Decimal]:
    """`65 psi 2,335 lb` as psi and lb; without units they are psi and lb, too."""
    found = fullmatch(ROW, text.strip())
    try:
        if found is None:
            raise UnitError("")
        cold = parse_measure(found["pressure"], "psi")
        carries = parse_measure(found["load"], "lb")
        return (
            convert(cold.value, cold.unit, "psi"),
            convert(carries.value, carries.unit, "lb"),
        )
    except UnitError:
        raise ValidationError(
            f"“{text.strip()}” isn't a row. Enter pressure and load, like 65 psi "
            "2335 lb."
        ) from None


def table_load(data: dict[str, Any]) -> list[Line]:
    found = pressure.load_at_pressure(data["cold"], data["table"])
    lines = [line("One tire carries", found, 0)]
    if data["weight"] is None:
        return lines
    left = weights.margin("", data["weight"], found.value).left
    if left >= 0:
        return [*lines, Line("Left to its limit", figure(left, "lb", 0))]
    return [*lines, Line("Too heavy by", figure(-left, "lb", 0), cautions=OVERLOADED)]


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
            f"enough: {num(one.left_mm)} mm above the limit"
            if one.passes
            else f"too little: {num(-one.left_mm)} mm below the limit",
            one.formula,
            one.rule.source,
        )
        for one in found
    ]


class VinForm(CalculatorForm):
    vin = forms.CharField(label="Vehicle identification number", max_length=30)


PROBLEMS = {
    "length": "A VIN has 17 characters.",
    "alphabet": "A VIN never has I, O or Q, or signs other than letters and digits.",
    "check_digit": (
        "The check digit doesn't match: look for a typing slip. Numbers from outside "
        "North America may have none."
    ),
}


def vin_check(data: dict[str, Any]) -> list[Line]:
    found = vin.check_vin(data["vin"])
    words = "matches" if found.passes else PROBLEMS[found.problem or "length"]
    lines = [Line("Check digit", words, source="49 CFR 565.15(c)")]
    if found.passes and (words := _model_years(found.vin)):
        lines.append(Line("Model year", words, source="49 CFR 565.15(d)"))
    return lines


def _model_years(number: str) -> str:
    """The year by place 7, and the other one where that rule need not hold."""
    years, told = vin.years_of_code(number[vin.YEAR_PLACE - 1]), vin.model_year(number)
    if years is None or told is None:
        return ""
    other = years[0] if told == years[1] else years[1]
    return (
        f"{told}. On a trailer, or over 10,000 lb (4,536 kg), it may be {other} "
        "instead: its papers say which."
    )


CALCULATORS = (
    Calculator(
        "tire_date",
        "Tire age",
        GROUP,
        "From the date code in the tire number.",
        DateCodeForm,
        date_code,
        ("DOT code", "how old is the tire", "TIN", "week"),
    ),
    Calculator(
        "tire_pressure",
        "Cold pressure at another temperature",
        GROUP,
        "By the gas law, with altitude.",
        PressureForm,
        pressure_at,
        ("psi", "10 degrees", "cold morning"),
    ),
    Calculator(
        "tire_warning",
        "Low-pressure warning level",
        GROUP,
        "A quarter under the placard's pressure.",
        WarningForm,
        warning,
        ("TPMS", "underinflated"),
    ),
    Calculator(
        "tire_load",
        "Tire load limit by load index",
        GROUP,
        "From the load index, against the axle's rating.",
        LoadForm,
        load,
        ("load index", "GAWR", "load range"),
    ),
    Calculator(
        "tire_table_load",
        "Tire load limit at a pressure",
        GROUP,
        "By the tire manufacturer's own table: copy its rows.",
        TableLoadForm,
        table_load,
        ("load inflation table", "inflation chart", "psi for my weight"),
    ),
    Calculator(
        "tire_tread",
        "Tread depth",
        GROUP,
        "By each published rule for its position.",
        TreadForm,
        tread_depth,
        ("32nds", "worn"),
    ),
    Calculator(
        "vin",
        "VIN check",
        "Papers",
        "Its check digit and model year.",
        VinForm,
        vin_check,
        ("serial", "chassis number"),
    ),
)
