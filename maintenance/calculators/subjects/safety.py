"""Things with a date: alarms and extinguishers."""

from typing import Any

from django import forms

from maintenance.core.calculators import alarms, extinguishers
from maintenance.core.calculators.answers import CalculatorError
from maintenance.ui.forms import DayInput
from maintenance.ui.words import day_words

from .base import Calculator, CalculatorForm, Line

GROUP = "Safety inside"
MADE = "Made in (any day of the month)"


class AlarmForm(CalculatorForm):
    kind = forms.ChoiceField(
        label="Alarm",
        choices=[
            ("smoke", "Smoke"),
            ("co", "Carbon monoxide"),
            ("propane", "Propane"),
            ("co_propane", "Carbon monoxide and propane"),
            ("co_smoke", "Carbon monoxide and smoke"),
        ],
    )
    made = forms.DateField(label=MADE, widget=DayInput)
    label = forms.IntegerField(
        label="Life on its label in years (if given)",
        min_value=1,
        max_value=15,
        required=False,
    )


def alarm(data: dict[str, Any]) -> list[Line]:
    years = alarms.life_years(data["kind"], data["label"])
    due = alarms.renew_by(data["kind"], data["made"], label=data["label"])
    over = due < data["today"]
    told = "%(day)s. That is past: replace it now" if over else "%(day)s"
    return [
        Line(
            "Replace it by",
            told % {"day": day_words(due)},
            f"{years} years from manufacture",
            "NFPA 72 for smoke; others by their label, or five years without one.",
            cautions=(
                "Without its alarm nothing warns you of fire or gas. Never cover, "
                "unplug or silence one for good.",
            ),
        )
    ]


class ExtinguisherForm(CalculatorForm):
    kind = forms.ChoiceField(
        label="Kind",
        choices=[(key, rules.words) for key, rules in extinguishers.KINDS.items()],
    )
    made = forms.DateField(label=MADE, widget=DayInput)
    tested = forms.DateField(
        label="Last pressure test", widget=DayInput, required=False
    )
    recharged = forms.DateField(label="Last recharge", widget=DayInput, required=False)


def extinguisher(data: dict[str, Any]) -> list[Line]:
    try:
        dates = extinguishers.dates_of(
            data["kind"],
            data["made"],
            tested=data["tested"],
            recharged=data["recharged"],
        )
    except ValueError as error:
        raise CalculatorError(str(error)) from None
    source = extinguishers.KINDS[data["kind"]].source
    named = (
        ("Six-year service by", dates.six_year),
        ("Pressure test by", dates.test),
        ("Out of service by", dates.remove),
    )
    return [
        Line(name, day_words(on), source=source) for name, on in named if on is not None
    ]


CALCULATORS = (
    Calculator(
        "alarm_date",
        "Alarm replacement date",
        GROUP,
        "Smoke, carbon monoxide, propane.",
        AlarmForm,
        alarm,
        ("detector", "expired", "end of life", "replace alarm"),
    ),
    Calculator(
        "extinguisher_dates",
        "Extinguisher due dates",
        GROUP,
        "Service, pressure test, and end of life.",
        ExtinguisherForm,
        extinguisher,
        ("hydrostatic", "fire"),
    ),
)
