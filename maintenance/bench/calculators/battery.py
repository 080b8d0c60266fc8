"""Batteries: charge from volts and gravity, hours at a load, how long one stands."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench import batteries, loads, runway
from maintenance.core.bench.answers import num

from ..fields import FigureField, NumberField
from .base import Calculator, CalculatorForm, Line, line

GROUP = gettext_lazy("Batteries")
LEAD = [
    ("flooded", gettext_lazy("Flooded lead-acid")),
    ("agm", gettext_lazy("AGM lead-acid")),
]
KINDS = [*LEAD, ("lifepo4", gettext_lazy("Lithium (LiFePO4)"))]


class VoltsForm(CalculatorForm):
    volts = FigureField(
        label=gettext_lazy("Volts at rest"), unit="V", what="The voltage"
    )
    kind = forms.ChoiceField(label=gettext_lazy("Battery"), choices=KINDS)


def from_volts(data: dict[str, Any]) -> list[Line]:
    charge = batteries.charge_from_volts(data["volts"], data["kind"])
    freezes = batteries.freezing_from_charge(charge.value)
    return [
        line(_("Charge"), charge, 0),
        line(_("At this charge it freezes at about"), freezes, 0),
    ]


class GravityForm(CalculatorForm):
    gravity = NumberField(
        label=gettext_lazy("The hydrometer shows, such as 1.250"),
        what="The specific gravity",
    )
    electrolyte = FigureField(
        label=gettext_lazy("Temperature of the electrolyte"),
        unit="°F",
        metric="°C",
        initial="80 °F",
        what="The temperature of the electrolyte",
    )


def from_gravity(data: dict[str, Any]) -> list[Line]:
    given, warm = data["gravity"], data["electrolyte"]
    corrected = batteries.corrected_gravity(given, warm)
    return [
        line(_("At 80 °F (26.7 °C) that is"), corrected, 3),
        line(_("Charge"), batteries.charge_from_gravity(given, warm), 0),
        line(
            _("It freezes at about"),
            batteries.freezing_from_gravity(corrected.value),
            0,
        ),
    ]


class LoadForm(CalculatorForm):
    capacity = FigureField(
        label=gettext_lazy("Capacity at the 20-hour rate"),
        unit="Ah",
        what="The capacity",
    )
    load = FigureField(label=gettext_lazy("Load"), unit="A", what="The load")
    kind = forms.ChoiceField(label=gettext_lazy("Battery"), choices=KINDS)


def at_load(data: dict[str, Any]) -> list[Line]:
    exponents = sorted(set(batteries.EXPONENTS[data["kind"]]), reverse=True)
    found = [
        batteries.hours_at_load(data["capacity"], data["load"], exponent=k)
        for k in exponents
    ]
    names = [_("At least"), _("About"), _("At most")]
    if len(found) == 1:
        names = names[1:2]
    return [line(name, one) for name, one in zip(names, found, strict=True)]


class StandingForm(CalculatorForm):
    capacity = FigureField(
        label=gettext_lazy("Capacity"), unit="Ah", what="The capacity"
    )
    kind = forms.ChoiceField(label=gettext_lazy("Battery"), choices=KINDS)
    charge = NumberField(
        label=gettext_lazy("Charge now (%)"), initial="100", what="The charge"
    )
    drains = forms.MultipleChoiceField(
        label=gettext_lazy("What draws on it while the rig stands"),
        choices=[(x.key, x.name) for x in loads.LOADS.values() if x.parasitic],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    measured = FigureField(
        label=gettext_lazy("or the standing current you measured"),
        unit="A",
        required=False,
        what="The current",
    )
    usual = FigureField(
        label=gettext_lazy("Usual temperature there"),
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    lowest = FigureField(
        label=gettext_lazy("Lowest temperature there"),
        unit="°F",
        metric="°C",
        what="The temperature",
    )


def standing(data: dict[str, Any]) -> list[Line]:
    if data["measured"] is not None:
        drain = loads.measured(data["measured"])
    else:
        chosen = [(loads.LOADS[key], Decimal(1)) for key in data["drains"]]
        drain = loads.sum_loads(chosen)
    about = {
        "charge": data["charge"],
        "usual_temperature": data["usual"],
        "lowest_temperature": data["lowest"],
    }
    found = runway.battery_runway(data["capacity"], data["kind"], drain=drain, **about)
    alone = runway.battery_runway(
        data["capacity"], data["kind"], drain=loads.NO_DRAIN, **about
    )
    first = _("To 50 %") if data["kind"] == "lifepo4" else _("To 12.4 V")
    lines = [
        _span(first, found.recharge),
        _span(_("To half"), found.half),
        _span(_("To empty"), found.empty),
    ]
    if found.freezing is not None:
        name = _("Until it could freeze at the lowest temperature")
        lines.append(_span(name, found.freezing))
    lines.append(_span(_("Disconnected, to the first of these"), alone.recharge))
    return lines


def _span(name: str, days: runway.Days) -> Line:
    shown = line(name, days.likely, 0)
    if days.early is None or days.likely is None or days.late is None:
        return shown
    told = _("%(likely)s days, %(early)s to %(late)s") % {
        "likely": num(days.likely.value, 0),
        "early": num(days.early.value, 0),
        "late": num(days.late.value, 0),
    }
    return Line(name, told, shown.formula, shown.source, shown.validity, shown.cautions)


CALCULATORS = (
    Calculator(
        "battery_volts",
        gettext_lazy("How full is the battery, by volts?"),
        GROUP,
        gettext_lazy("A 12 V battery at rest, and where it freezes."),
        VoltsForm,
        from_volts,
        ("state of charge", "12.4", "freeze"),
    ),
    Calculator(
        "battery_gravity",
        gettext_lazy("How full is the battery, by hydrometer?"),
        GROUP,
        gettext_lazy("Flooded cells, corrected for temperature."),
        GravityForm,
        from_gravity,
        ("specific gravity",),
    ),
    Calculator(
        "battery_hours",
        gettext_lazy("How long a battery feeds a load"),
        GROUP,
        gettext_lazy("By Peukert: a heavy load gets less out of it."),
        LoadForm,
        at_load,
        ("Peukert", "amp hours", "runtime"),
    ),
    Calculator(
        "battery_standing",
        gettext_lazy("How long a battery lasts while the rig stands"),
        GROUP,
        gettext_lazy("With its drains, its own loss and the cold."),
        StandingForm,
        standing,
        ("parasitic", "storage", "winter"),
    ),
)
