"""120 V: what a hookup gives, what a generator leaves, voltage, inverter."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench import generator, mains
from maintenance.core.bench.answers import num

from ..fields import FigureField, NumberField
from .base import Calculator, CalculatorForm, Line, line

GROUP = gettext_lazy("120 V power")
HOOKUPS = [(key, f"{key} A") for key in mains.SERVICES]


def watts(label, **kwargs) -> FigureField:
    return FigureField(label=label, unit="W", **kwargs)


class HookupForm(CalculatorForm):
    service = forms.ChoiceField(label=gettext_lazy("Hookup"), choices=HOOKUPS)
    running = watts(
        gettext_lazy("Running on one leg together"),
        required=False,
        initial="1500",
        what="The power",
    )


def hookup(data: dict[str, Any]) -> list[Line]:
    service = mains.SERVICES[data["service"]]
    lines = [
        line(_("It gives"), mains.capacity(service), 0),
        line(_("For hours, per leg"), mains.continuous(service.amps)),
    ]
    if data["running"] is None:
        return lines
    load = mains.load_on(service, [data["running"]])
    told = (
        _("fits, also for hours")
        if load.fits_for_hours
        else _("fits, but not for hours")
        if load.fits
        else _("too much: the breaker trips")
    )
    return [
        *lines,
        line(_("That draws"), mains.amps(data["running"])),
        Line(_("On this hookup it"), told),
    ]


class VoltageForm(CalculatorForm):
    volts = FigureField(
        label=gettext_lazy("Volts at the outlet"), unit="V", what="The voltage"
    )


BANDS = {
    "low": gettext_lazy("too low"),
    "ok": gettext_lazy("in order"),
    "high": gettext_lazy("too high"),
}


def voltage(data: dict[str, Any]) -> list[Line]:
    found = mains.judge_voltage(data["volts"])
    low, high = mains.voltage_band(10)
    return [
        Line(
            _("For the equipment"),
            str(BANDS[found.equipment]),
            f"{num(low.value)} to {num(high.value)} V",
            low.source,
            cautions=found.cautions,
        ),
        Line(_("For the supply"), str(BANDS[found.service]), "114 to 126 V"),
    ]


class InverterForm(CalculatorForm):
    power = watts(gettext_lazy("Running power"), what="The power")
    volts = FigureField(
        label=gettext_lazy("Battery voltage"),
        unit="V",
        initial="12",
        what="The battery's voltage",
    )
    efficiency = NumberField(
        label=gettext_lazy("Efficiency of the inverter (%)"),
        initial="88",
        what="The efficiency of the inverter",
        times=100,
    )


def inverter(data: dict[str, Any]) -> list[Line]:
    found = mains.inverter_amps(
        data["power"],
        battery_volts=data["volts"],
        efficiency=data["efficiency"] / 100,
    )
    return [line(_("From the battery it draws"), found)]


class GeneratorForm(CalculatorForm):
    rated = watts(gettext_lazy("Rated power"), what="The rated power")
    altitude = FigureField(
        label=gettext_lazy("Altitude"),
        unit="ft",
        metric="m",
        initial="0",
        what="The altitude",
    )
    temperature = FigureField(
        label=gettext_lazy("Air temperature"),
        unit="°F",
        metric="°C",
        initial="70 °F",
        what="The temperature",
    )
    running = watts(
        gettext_lazy("Running load, if you want it judged"),
        required=False,
        what="The running power",
    )


def generator_output(data: dict[str, Any]) -> list[Line]:
    lines = []
    for rule, answer in generator.outputs(
        data["rated"], altitude=data["altitude"], temperature=data["temperature"]
    ):
        name = rule.source.partition(":")[0]
        lines.append(line(name, answer, 0))
        if data["running"] is not None and answer.value > 0:
            share = generator.load_share(data["running"], answer)
            lines.append(line(_("your load takes of it"), share, 0))
    return lines


CALCULATORS = (
    Calculator(
        "hookup",
        gettext_lazy("What a hookup gives, and what you run on it"),
        GROUP,
        gettext_lazy("15, 20, 30 and 50 A, for a moment and for hours."),
        HookupForm,
        hookup,
        ("shore power", "30 amp", "50 amp", "breaker"),
    ),
    Calculator(
        "voltage",
        gettext_lazy("Is the voltage of the hookup in order?"),
        GROUP,
        gettext_lazy("Against the bands of supply and equipment."),
        VoltageForm,
        voltage,
        ("low voltage", "brownout"),
    ),
    Calculator(
        "inverter",
        gettext_lazy("What an inverter draws from the battery"),
        GROUP,
        gettext_lazy("From its load and efficiency."),
        InverterForm,
        inverter,
        ("12 V amps",),
    ),
    Calculator(
        "generator_output",
        gettext_lazy("What a generator gives up high and in the heat"),
        GROUP,
        gettext_lazy("By each published rule, and how loaded it is."),
        GeneratorForm,
        generator_output,
        ("altitude", "derating", "half load"),
    ),
)
