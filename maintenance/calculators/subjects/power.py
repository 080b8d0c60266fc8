"""Power: what a hookup gives, what a generator leaves, voltage, inverter, wires."""

from decimal import Decimal
from typing import Any

from django import forms

from maintenance.core.calculators import generator, mains, wiring
from maintenance.core.calculators.answers import CalculatorError, num

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, line

GROUP = "Power and wires"
HOOKUPS = [(key, f"{key} A") for key in mains.SERVICES]


def watts(label, **kwargs) -> FigureField:
    return FigureField(label=label, unit="W", **kwargs)


class HookupForm(CalculatorForm):
    service = forms.ChoiceField(label="Hookup", choices=HOOKUPS)
    running = watts(
        "Running on one leg, in all",
        required=False,
        initial="1500",
        what="The power",
    )
    second = watts(
        "50 A only: running on the other leg", required=False, what="The power"
    )


def hookup(data: dict[str, Any]) -> list[Line]:
    service = mains.SERVICES[data["service"]]
    lines = [
        line("It supplies", mains.capacity(service), 0),
        line("For hours at a time, per leg", mains.continuous(service.amps)),
    ]
    if data["second"] is not None and service.legs == 1:
        raise CalculatorError("Only a 50 A hookup has a second leg. Leave this empty.")
    if data["second"] is not None:
        return [*lines, *_two_legs(data["running"] or Decimal(0), data["second"])]
    if data["running"] is None:
        return lines
    load = mains.load_on(service, [data["running"]])
    return [
        *lines,
        line("That draws", mains.amps(data["running"])),
        Line("On this hookup that", _fits(load)),
    ]


def _two_legs(first: Decimal, second: Decimal) -> list[Line]:
    """Each leg by itself, and what of it the neutral carries."""
    legs = mains.load_on_legs(first, second)
    return [
        line("The first leg draws", mains.amps(first)),
        Line("The first leg", _fits(legs.first)),
        line("The other leg draws", mains.amps(second)),
        Line("The other leg", _fits(legs.second)),
        Line("The neutral carries", f"{num(legs.neutral, 1)} A", NEUTRAL),
    ]


NEUTRAL = (
    "the difference between the legs; with a 30 A adapter both legs are one, and "
    "their sum counts"
)


def _fits(load: mains.LoadOnService) -> str:
    if load.fits_for_hours:
        return "fits, even for hours"
    return "fits, but not for hours" if load.fits else "too much: the breaker trips"


class DropForm(CalculatorForm):
    load = FigureField(label="Current", unit="A", what="The current")
    length = FigureField(
        label="Wire length, one way",
        unit="ft",
        metric="m",
        what="The length of the wire",
    )
    gauge = forms.ChoiceField(
        label="Copper wire (AWG)", choices=[(x, x) for x in wiring.GAUGES]
    )
    volts = FigureField(
        label="Volts at the start of the wire",
        unit="V",
        initial="12",
        what="The voltage",
    )


def drop(data: dict[str, Any]) -> list[Line]:
    about = {"amps": data["load"], "feet": data["length"], "volts": data["volts"]}
    found = wiring.voltage_drop(data["gauge"], **about)
    enough = wiring.thinnest(**about)
    return [
        line("Lost in the wire", found.lost, 2),
        Line("That is", f"{num(found.percent, 1)} %: {_judged(found)}"),
        Line("Left at the end", f"{num(data['volts'] - found.lost.value)} V"),
        Line("Thinnest for 3 % or less", f"AWG {enough}" if enough else "none listed"),
    ]


def _judged(found: wiring.Drop) -> str:
    if found.small:
        return "good"
    if found.bearable:
        return "too much for lights, pumps, chargers and the furnace"
    return "too much: use a thicker or a shorter wire"


class VoltageForm(CalculatorForm):
    volts = FigureField(label="Volts at the outlet", unit="V", what="The voltage")


BANDS = {
    "low": "too low",
    "ok": "good",
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
    return [line("It draws from the battery", found)]


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
        "Running load, optional",
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
            lines.append(line("Your load uses", share, 0))
    return lines


CALCULATORS = (
    Calculator(
        "hookup",
        "Hookup capacity and load",
        GROUP,
        "15, 20, 30 and 50 A, for a moment and for hours.",
        HookupForm,
        hookup,
        ("shore power", "30 amp", "50 amp", "breaker"),
    ),
    Calculator(
        "voltage",
        "Hookup voltage",
        GROUP,
        "Compared with the limits for supply and equipment.",
        VoltageForm,
        voltage,
        ("low voltage", "brownout"),
    ),
    Calculator(
        "voltage_drop",
        "Voltage drop in a wire",
        GROUP,
        "From current, length and gauge of a copper wire.",
        DropForm,
        drop,
        ("wire size", "AWG", "gauge", "dim lights"),
    ),
    Calculator(
        "inverter",
        "Inverter draw from the battery",
        GROUP,
        "From its load and efficiency.",
        InverterForm,
        inverter,
        ("12 V amps",),
    ),
    Calculator(
        "generator_output",
        "Generator output at altitude and in heat",
        GROUP,
        "By each published rule, with the share your load uses.",
        GeneratorForm,
        generator_output,
        ("altitude", "derating", "half load"),
    ),
)
