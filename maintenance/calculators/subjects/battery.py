"""Batteries: charge from volts and gravity, hours at a load, how long one stands."""

from decimal import Decimal
from typing import Any

from django import forms

from maintenance.core.calculators import batteries, loads, runway
from maintenance.core.calculators.answers import num

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, line

GROUP = "Batteries"
LEAD = [
    ("flooded", "Flooded lead-acid"),
    ("agm", "AGM lead-acid"),
]
KINDS = [*LEAD, ("lifepo4", "Lithium (LiFePO4)")]


class VoltsForm(CalculatorForm):
    volts = FigureField(label="Rested voltage", unit="V", what="The voltage")
    kind = forms.ChoiceField(label="Battery", choices=KINDS)


def from_volts(data: dict[str, Any]) -> list[Line]:
    charge = batteries.charge_from_volts(data["volts"], data["kind"])
    freezes = batteries.freezing_from_charge(charge.value)
    return [
        line("Charge", charge, 0),
        line("At this charge it freezes at about", freezes, 0),
    ]


class GravityForm(CalculatorForm):
    gravity = CountField(
        label="Hydrometer reading, like 1.250",
        what="The specific gravity",
    )
    electrolyte = FigureField(
        label="Temperature of the electrolyte",
        unit="°F",
        metric="°C",
        initial="80 °F",
        what="The temperature of the electrolyte",
    )


def from_gravity(data: dict[str, Any]) -> list[Line]:
    given, warm = data["gravity"], data["electrolyte"]
    corrected = batteries.corrected_gravity(given, warm)
    return [
        line("At 80 °F (26.7 °C) that is", corrected, 3),
        line("Charge", batteries.charge_from_gravity(given, warm), 0),
        line(
            "It freezes at about",
            batteries.freezing_from_gravity(corrected.value),
            0,
        ),
    ]


class LoadForm(CalculatorForm):
    capacity = FigureField(
        label="Capacity at the 20-hour rate",
        unit="Ah",
        what="The capacity",
    )
    load = FigureField(label="Load", unit="A", what="The load")
    kind = forms.ChoiceField(label="Battery", choices=KINDS)


def at_load(data: dict[str, Any]) -> list[Line]:
    exponents = sorted(set(batteries.EXPONENTS[data["kind"]]), reverse=True)
    found = [
        batteries.hours_at_load(data["capacity"], data["load"], exponent=k)
        for k in exponents
    ]
    names = ["At least", "About", "At most"]
    if len(found) == 1:
        names = names[1:2]
    return [line(name, one) for name, one in zip(names, found, strict=True)]


class StandingForm(CalculatorForm):
    battery = forms.ChoiceField(
        label="Battery (if you keep the figure, storage uses the measured draw)",
        choices=[("", "Either"), ("house", "House"), ("chassis", "Chassis")],
        required=False,
    )
    capacity = FigureField(label="Capacity", unit="Ah", what="The capacity")
    kind = forms.ChoiceField(label="Battery", choices=KINDS)
    charge = CountField(label="Charge now (%)", initial="100", what="The charge")
    drains = forms.MultipleChoiceField(
        label="Loads on it in storage",
        choices=[(x.key, x.name) for x in loads.LOADS.values() if x.parasitic],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    measured = FigureField(
        label="Or the current you measured in storage",
        unit="A",
        required=False,
        what="The current",
    )
    usual = FigureField(
        label="Usual temperature where it is stored",
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    lowest = FigureField(
        label="Lowest temperature where it is stored",
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
    first = "To 50 %" if data["kind"] == "lifepo4" else "To 12.4 V"
    lines = [
        _span(first, found.recharge),
        _span("To half", found.half),
        _span("To empty", found.empty),
    ]
    if found.freezing is not None:
        name = "Until it could freeze at the lowest temperature"
        lines.append(_span(name, found.freezing))
    lines.append(_span("If disconnected, to the first of these", alone.recharge))
    return lines


def _span(name: str, days: runway.Days) -> Line:
    shown = line(name, days.likely, 0)
    if days.early is None or days.likely is None or days.late is None:
        return shown
    told = (
        f"{num(days.likely.value, 0)} days, {num(days.early.value, 0)} to "
        f"{num(days.late.value, 0)}"
    )
    return Line(name, told, shown.formula, shown.source, shown.validity, shown.cautions)


CALCULATORS = (
    Calculator(
        "battery_volts",
        "Battery charge by volts",
        GROUP,
        "For a 12 V battery at rest, with its freezing point.",
        VoltsForm,
        from_volts,
        ("state of charge", "12.4", "freeze", "how full is the battery"),
    ),
    Calculator(
        "battery_gravity",
        "Battery charge by hydrometer",
        GROUP,
        "For flooded cells, corrected for temperature.",
        GravityForm,
        from_gravity,
        ("specific gravity",),
    ),
    Calculator(
        "battery_hours",
        "Battery run time at a load",
        GROUP,
        "By Peukert: a heavy load gets less out of a battery.",
        LoadForm,
        at_load,
        ("Peukert", "amp hours", "runtime"),
    ),
    Calculator(
        "battery_standing",
        "How long a battery lasts in storage",
        GROUP,
        "With its loads, its own loss and the cold.",
        StandingForm,
        standing,
        ("parasitic", "storage", "winter"),
    ),
)
