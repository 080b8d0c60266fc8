"""Water and waste: traps, disinfecting, antifreeze, hardness, waste tanks."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.core.calculators import (
    antifreeze,
    drains,
    hardness,
    sanitizing,
    wastetank,
)
from maintenance.core.calculators.answers import CalculatorError, num
from maintenance.core.units import convert

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = "Water and waste"


class TrapForm(CalculatorForm):
    temperature = FigureField(
        label="Usual temperature inside",
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    humidity = CountField(
        label="Humidity (%)", initial="50", what="The relative humidity"
    )
    seal = FigureField(
        label="Depth of the water seal",
        unit="in",
        metric="mm",
        initial="2 in",
        what="The depth of the seal",
    )


def traps(data: dict[str, Any]) -> list[Line]:
    found = drains.dry_out(
        convert(data["temperature"], "°F", "°C"),
        data["humidity"],
        seal=convert(data["seal"], "in", "mm"),
    )
    return [
        line("Dry after, at the earliest", found.earliest, 0),
        line("Dry after, at the latest", found.latest, 0),
        Line(
            "Fill the traps every",
            f"{found.flush_every} days in storage",
        ),
        line("Open water loses", found.upper, 2),
        line("Still air in the pipe lets out", found.lower, 2),
    ]


class DoseForm(CalculatorForm):
    tank = FigureField(
        label="Volume of the tank",
        unit="gal",
        metric="L",
        what="The tank",
    )
    strength = CountField(
        label="Bleach strength on its label (%)",
        initial="6",
        what="The strength of the bleach",
    )
    target = CountField(
        label="Chlorine wanted (ppm)",
        initial="50",
        what="The chlorine aimed at",
    )
    left = CountField(
        label="Water left after draining (%)",
        initial="5",
        what="The part of the water left at each drain",
        times=100,
    )


def dose(data: dict[str, Any]) -> list[Line]:
    found = sanitizing.bleach_dose(
        data["tank"], strength=data["strength"], target=data["target"]
    )
    rinses = sanitizing.rinses_needed(data["target"], left=data["left"] / 100)
    times = int(rinses.value)
    return [
        line("Bleach, plain and unscented", found, 2),
        Line(
            "Afterward",
            "fill and drain once" if times == 1 else f"fill and drain {times} times",
            rinses.formula,
            rinses.source,
            rinses.validity,
            rinses.cautions,
        ),
        *(
            Line(
                f"Let it stand, at {num(one.ppm, 0)} ppm",
                _stand(one),
                source=one.source,
            )
            for one in sanitizing.STAND_TIMES
        ),
    ]


def _stand(one: sanitizing.StandTime) -> str:
    if one.most is None:
        return f"{num(one.least, 0)} hours or more"
    return f"{num(one.least, 0)} to {num(one.most, 0)} hours"


class AntifreezeForm(CalculatorForm):
    lowest = FigureField(
        label="Lowest temperature where it is stored",
        unit="°F",
        metric="°C",
        what="The lowest temperature",
    )
    heater = FigureField(
        label="Volume of the water heater",
        unit="gal",
        metric="L",
        initial="6 gal",
        what="The volume",
    )
    bypassed = forms.BooleanField(
        label="The heater is bypassed and drained",
        required=False,
        initial=True,
    )
    traps = forms.IntegerField(
        label="Drain traps", min_value=0, max_value=20, initial=4
    )
    strength = CountField(
        label="Strength of your antifreeze (% glycol), if you know it",
        required=False,
        what="The strength of the fluid",
    )
    water = FigureField(
        label="Water left in the lines, about",
        unit="gal",
        metric="L",
        initial="0",
        what="The volume",
    )


def winter(data: dict[str, Any]) -> list[Line]:
    amount = antifreeze.amount(
        heater=data["heater"], bypassed=data["bypassed"], traps=data["traps"]
    )
    risk = antifreeze.frost_risk(data["lowest"])
    lines = [
        Line(
            "Frost",
            "expected: drain or protect the rig" if risk.freezes else "not expected",
            source=risk.source,
            cautions=risk.cautions,
        ),
        line("Buy at least", amount.least),
        line("Buy at most", amount.most),
    ]
    if data["strength"] is None:
        return lines
    mixed = antifreeze.diluted(
        amount.least.value, strength=data["strength"], water=data["water"]
    )
    return [
        *lines,
        line("Strength after mixing with that water", mixed),
        *_cold_of(mixed.value),
        _protection(mixed.value, data["lowest"]),
    ]


def _cold_of(strength: Decimal) -> list[Line]:
    """To which cold it flows and holds; beyond the tables their last figure."""
    known = min(strength, antifreeze.STRONGEST)
    found = [line("Ice begins at about", antifreeze.freeze_point(known), 0)]
    if strength >= antifreeze.WEAKEST:
        found.append(line("Pipes are safe to about", antifreeze.burst_point(known), 0))
    return found


def _protection(strength: Decimal, lowest: Decimal) -> Line:
    """What it is for: the lowest temperature that the pipes will see."""
    cold = figure(lowest, "°F", 0)
    if antifreeze.protects(strength, lowest):
        return Line(f"At {cold}", "pipes are protected")
    weak = f"; under {antifreeze.WEAKEST} % it hardly helps"
    told = f"pipes are not protected{weak * (strength < antifreeze.WEAKEST)}"
    return Line(f"At {cold}", told, cautions=(NOT_PROTECTED,))


NOT_PROTECTED = (
    "Pipes can burst. Drain the lines or blow them out first, then use undiluted "
    "antifreeze that is strong enough."
)


class HardnessForm(CalculatorForm):
    mg_l = CountField(
        label="Hardness (mg/L or ppm as CaCO3)",
        required=False,
        what="The hardness",
    )
    grains = CountField(
        label="Or hardness in grains per gallon",
        required=False,
        what="The hardness",
    )


CLASSES = {
    "soft": "soft",
    "moderately_hard": "moderately hard",
    "hard": "hard",
    "very_hard": "very hard",
}


def hardness_of(data: Mapping[str, Any]) -> Decimal | None:
    """In mg/L, however it was typed."""
    if data["mg_l"] is None and data["grains"] is not None:
        return hardness.from_grains(data["grains"]).value
    return data["mg_l"]


def water_hardness(data: dict[str, Any]) -> list[Line]:
    value = hardness_of(data)
    if value is None:
        raise CalculatorError(
            "Enter the hardness in mg/L or in grains, like 180 or 10.5."
        )
    lines = []
    if data["mg_l"] is None:
        lines.append(line("In mg/L", hardness.from_grains(data["grains"])))
    judged = hardness.hardness(value)
    days = f"every {judged.aerator_days} days"
    return [
        *lines,
        Line("The water is", CLASSES[judged.name], source=judged.source),
        Line(
            "Clean aerators and shower head, descale the water heater",
            days,
            validity=judged.validity,
            cautions=judged.cautions,
        ),
    ]


class TankForm(CalculatorForm):
    shape = forms.ChoiceField(
        label="Shape",
        choices=[
            ("box", "Box"),
            ("cylinder", "Cylinder, lying or upright"),
        ],
    )
    length = FigureField(label="Length", unit="in", metric="mm", what="The length")
    width = FigureField(
        label="Width, or diameter",
        unit="in",
        metric="mm",
        what=("The length", "The diameter"),
    )
    height = FigureField(
        label="Height of a box",
        unit="in",
        metric="mm",
        required=False,
        what="The length",
    )


def waste(data: dict[str, Any]) -> list[Line]:
    if data["shape"] == "box":
        if data["height"] is None:
            raise CalculatorError("Enter the height of the box, like 12 in.")
        volume = wastetank.box_volume(data["length"], data["width"], data["height"])
    else:
        volume = wastetank.cylinder_volume(data["width"], data["length"])
    clean = wastetank.cleaning_amounts(volume.value)
    return [
        line("Volume", volume),
        line("Dump at or above", wastetank.dump_level(volume.value)),
        _span("To clean the probes, fill to", clean.fill, clean),
        _span("With ice", clean.ice, clean),
        _span("After dumping, add water", clean.start_water, clean),
    ]


def _span(name: str, span: wastetank.Span, clean: wastetank.CleaningAmounts) -> Line:
    told = f"{figure(span.least, span.unit)} to {figure(span.most, span.unit)}"
    return Line(name, told, source=clean.source, cautions=clean.cautions)


CALCULATORS = (
    Calculator(
        "trap_dry_out",
        "Drain trap dry-out time",
        GROUP,
        "Between an upper and a lower model; both are given.",
        TrapForm,
        traps,
        ("p-trap", "sewer smell", "evaporation"),
    ),
    Calculator(
        "bleach_dose",
        "Bleach for the fresh tank",
        GROUP,
        "From tank, strength and target, with the rinses.",
        DoseForm,
        dose,
        ("sanitize", "chlorine", "disinfect"),
    ),
    Calculator(
        "antifreeze",
        "Antifreeze amount and protection",
        GROUP,
        "For lines, traps and heater, with the strength after dilution.",
        AntifreezeForm,
        winter,
        ("winterizing", "pink", "glycol", "freeze"),
    ),
    Calculator(
        "water_hardness",
        "Water hardness",
        GROUP,
        "Its class, and how often to clean aerators.",
        HardnessForm,
        water_hardness,
        ("scale", "limescale", "grains"),
    ),
    Calculator(
        "waste_tank",
        "Waste tank: volume, dump level, cleaning",
        GROUP,
        "From its inside dimensions.",
        TankForm,
        waste,
        ("black tank", "gray tank", "ice", "two thirds"),
    ),
)
