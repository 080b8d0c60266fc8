"""Things with a date: alarms and extinguishers."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench import alarms, extinguishers
from maintenance.core.bench.answers import BenchError
from maintenance.ui.forms import DayInput
from maintenance.ui.words import day_words

from .base import Calculator, CalculatorForm, Line

GROUP = gettext_lazy("Safety inside")
MADE = gettext_lazy("Made (any day of the month)")


class AlarmForm(CalculatorForm):
    kind = forms.ChoiceField(
        label=gettext_lazy("Alarm"),
        choices=[
            ("smoke", gettext_lazy("Smoke")),
            ("co", gettext_lazy("Carbon monoxide")),
            ("propane", gettext_lazy("Propane")),
            ("co_propane", gettext_lazy("Carbon monoxide and propane")),
            ("co_smoke", gettext_lazy("Carbon monoxide and smoke")),
        ],
    )
    made = forms.DateField(label=MADE, widget=DayInput)
    label = forms.IntegerField(
        label=gettext_lazy("Life on its label (years), if it says"),
        min_value=1,
        max_value=15,
        required=False,
    )


def alarm(data: dict[str, Any]) -> list[Line]:
    years = alarms.life_years(data["kind"], data["label"])
    due = alarms.renew_by(data["kind"], data["made"], label=data["label"])
    over = due < data["today"]
    told = _("%(day)s: it is over, renew it now") if over else "%(day)s"
    return [
        Line(
            _("Renew it by"),
            told % {"day": day_words(due)},
            _("%(years)d years from manufacture") % {"years": years},
            _("NFPA 72 for smoke; else its label, without one the usual five years."),
            cautions=(_("Never cover, unplug or silence an alarm for good."),),
        )
    ]


class ExtinguisherForm(CalculatorForm):
    kind = forms.ChoiceField(
        label=gettext_lazy("Kind"),
        choices=[(key, rules.words) for key, rules in extinguishers.KINDS.items()],
    )
    made = forms.DateField(label=MADE, widget=DayInput)
    tested = forms.DateField(
        label=gettext_lazy("Last pressure test"), widget=DayInput, required=False
    )
    recharged = forms.DateField(
        label=gettext_lazy("Last recharge"), widget=DayInput, required=False
    )


def extinguisher(data: dict[str, Any]) -> list[Line]:
    try:
        dates = extinguishers.dates_of(
            data["kind"],
            data["made"],
            tested=data["tested"],
            recharged=data["recharged"],
        )
    except ValueError as error:
        raise BenchError(str(error)) from None
    source = extinguishers.KINDS[data["kind"]].source
    named = (
        (_("Six-year service by"), dates.six_year),
        (_("Pressure test by"), dates.test),
        (_("Out of service by"), dates.remove),
    )
    return [
        Line(name, day_words(on), source=source) for name, on in named if on is not None
    ]


CALCULATORS = (
    Calculator(
        "alarm_date",
        gettext_lazy("When is an alarm to be renewed?"),
        GROUP,
        gettext_lazy("Smoke, carbon monoxide, propane."),
        AlarmForm,
        alarm,
        ("detector", "expired", "end of life"),
    ),
    Calculator(
        "extinguisher_dates",
        gettext_lazy("When is an extinguisher due?"),
        GROUP,
        gettext_lazy("Service, pressure test, and its end."),
        ExtinguisherForm,
        extinguisher,
        ("hydrostatic", "fire"),
    ),
)
