"""120 V: what a hookup gives, what a generator leaves, voltage, inverter."""

from typing import Any

from django import forms

from maintenance.core.calculators import generator, mains
from maintenance.core.calculators.answers import num

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, line

GROUP = "120 V power"
HOOKUPS = [(key, f"{key} A") for key in mains.SERVICES]


def watts(label, **kwargs) -> FigureField:
    return FigureField(label=label, unit="W", **kwargs)


class HookupForm(CalculatorForm):
    service = forms.ChoiceField(label="Hookup", choices=HOOKUPS)
    running = watts(
        "Running on one leg together",
        required=False,
        initial="1500",
        what="The power",
    )


def hookup(data: dict[str, Any]) -> list[Line]:
    service = mains.SERVICES[data["service"]]
    lines = [
        line("It gives", mains.capacity(service), 0),
        line("For hours, per leg", mains.continuous(service.amps)),
    ]
    if data["running"] is None:
        return lines
    load = mains.load_on(service, [data["running"]])
    told = (
        "fits, also for hours"
        if load.fits_for_hours
        else "fits, but not for hours"
        if load.fits
        else "too much: the breaker trips"
    )
    return [
        *lines,
        line("That draws", mains.amps(data["running"])),
        Line("On this hookup it", told),
    ]


class VoltageForm(CalculatorForm):
    volts = FigureField(label="Volts at the outlet", unit="V", what="The voltage")


BANDS = {
    "low": "too low",
    "ok": "in order",
    "high": "too high",
}


def voltage(data: dict[str, Any]) -> list[Line]:
    found = mains.judge_voltage(data["volts"])
    low, high = mains.voltage_band(10)
    return [
        Line(
            "For the equipment",
            BANDS[found.equipment],
            f"{num(low.value)} to {num(high.value)} V",
            low.source,
            cautions=found.cautions,
        ),
        Line("For the supply", BANDS[found.service], "114 to 126 V"),
    ]


class InverterForm(CalculatorForm):
    power = watts("Running power", what="The power")
    volts = FigureField(
        label="Battery voltage",
        unit="V",
        initial="12",
        what="The battery's voltage",
    )
    efficiency = CountField(
        label="Efficiency of the inverter (%)",
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
    return [line("From the battery it draws", found)]


class GeneratorForm(CalculatorForm):
    rated = watts("Rated power", what="The rated power")
    altitude = FigureField(
        label="Altitude",
        unit="ft",
        metric="m",
        initial="0",
        what="The altitude",
    )
    temperature = FigureField(
        label="Air temperature",
        unit="°F",
        metric="°C",
        initial="70 °F",
        what="The temperature",
    )
    running = watts(
        "Running load, if you want it judged",
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
            lines.append(line("your load takes of it", share, 0))
    return lines


CALCULATORS = (
    Calculator(
        "hookup",
        "What a hookup gives, and what you run on it",
        GROUP,
        "15, 20, 30 and 50 A, for a moment and for hours.",
        HookupForm,
        hookup,
        ("shore power", "30 amp", "50 amp", "breaker"),
    ),
    Calculator(
        "voltage",
        "Is the voltage of the hookup in order?",
        GROUP,
        "Against the bands of supply and equipment.",
        VoltageForm,
        voltage,
        ("low voltage", "brownout"),
    ),
    Calculator(
        "inverter",
        "What an inverter draws from the battery",
        GROUP,
        "From its load and efficiency.",
        InverterForm,
        inverter,
        ("12 V amps",),
    ),
    Calculator(
        "generator_output",
        "What a generator gives up high and in the heat",
        GROUP,
        "By each published rule, and how loaded it is.",
        GeneratorForm,
        generator_output,
        ("altitude", "derating", "half load"),
    ),
)
