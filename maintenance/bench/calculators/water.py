"""Water and waste: traps, disinfecting, antifreeze, hardness, waste tanks."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from maintenance.core.bench import (
    antifreeze,
    drains,
    hardness,
    sanitizing,
    wastetank,
)
from maintenance.core.bench.answers import BenchError, num
from maintenance.core.units import convert

from ..fields import FigureField, NumberField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = gettext_lazy("Water and waste")


class TrapForm(CalculatorForm):
    temperature = FigureField(
        label=gettext_lazy("Usual temperature inside"),
        unit="°F",
        metric="°C",
        what="The temperature",
    )
    humidity = NumberField(
        label=gettext_lazy("Humidity (%)"), initial="50", what="The relative humidity"
    )
    seal = FigureField(
        label=gettext_lazy("Depth of the water seal"),
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
        line(_("Dry at the earliest, after"), found.earliest, 0),
        line(_("Dry at the latest, after"), found.latest, 0),
        Line(
            _("So fill the traps every"),
            _("%(days)d days while it stands") % {"days": found.flush_every},
        ),
        line(_("Open water loses"), found.upper, 2),
        line(_("Still air in the pipe lets go"), found.lower, 2),
    ]


class DoseForm(CalculatorForm):
    tank = FigureField(
        label=gettext_lazy("Volume of the tank"),
        unit="gal",
        metric="L",
        what="The tank",
    )
    strength = NumberField(
        label=gettext_lazy("Strength of the bleach on its label (%)"),
        initial="6",
        what="The strength of the bleach",
    )
    target = NumberField(
        label=gettext_lazy("Chlorine wanted (ppm)"),
        initial="50",
        what="The chlorine aimed at",
    )
    left = NumberField(
        label=gettext_lazy("What stays behind after draining (%)"),
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
        line(_("Bleach, plain and unscented"), found, 2),
        Line(
            _("Afterwards"),
            ngettext("fill and drain once", "fill and drain %(n)d times", times)
            % {"n": times},
            rinses.formula,
            rinses.source,
            rinses.validity,
            rinses.cautions,
        ),
        *(
            Line(
                _("Let it stand, at %(ppm)s ppm") % {"ppm": num(one.ppm, 0)},
                _stand(one),
                source=one.source,
            )
            for one in sanitizing.STAND_TIMES
        ),
    ]


def _stand(one: sanitizing.StandTime) -> str:
    if one.most is None:
        return _("%(least)s hours or more") % {"least": num(one.least, 0)}
    return _("%(least)s to %(most)s hours") % {
        "least": num(one.least, 0),
        "most": num(one.most, 0),
    }


class AntifreezeForm(CalculatorForm):
    lowest = FigureField(
        label=gettext_lazy("Lowest temperature there"),
        unit="°F",
        metric="°C",
        what="The lowest temperature",
    )
    heater = FigureField(
        label=gettext_lazy("Volume of the water heater"),
        unit="gal",
        metric="L",
        initial="6 gal",
        what="The volume",
    )
    bypassed = forms.BooleanField(
        label=gettext_lazy("The heater is bypassed and drained"),
        required=False,
        initial=True,
    )
    traps = forms.IntegerField(
        label=gettext_lazy("Drain traps"), min_value=0, max_value=20, initial=4
    )
    strength = NumberField(
        label=gettext_lazy("Strength of the antifreeze you have (% glycol), if known"),
        required=False,
        what="The strength of the fluid",
    )
    water = FigureField(
        label=gettext_lazy("Water left in the lines, about"),
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
            _("Frost"),
            _("expected: drain or protect it") if risk.freezes else _("not expected"),
            source=risk.source,
            cautions=risk.cautions,
        ),
        line(_("Buy at least"), amount.least),
        line(_("at most"), amount.most),
    ]
    if data["strength"] is None:
        return lines
    mixed = antifreeze.diluted(
        amount.least.value, strength=data["strength"], water=data["water"]
    )
    return [
        *lines,
        line(_("Strength after mixing with that water"), mixed),
        line(_("Ice begins at about"), antifreeze.freeze_point(mixed.value), 0),
        line(_("Pipes are safe to about"), antifreeze.burst_point(mixed.value), 0),
    ]


class HardnessForm(CalculatorForm):
    mg_l = NumberField(
        label=gettext_lazy("Hardness (mg/L or ppm as CaCO3)"),
        required=False,
        what="The hardness",
    )
    grains = NumberField(
        label=gettext_lazy("or in grains per gallon"),
        required=False,
        what="The hardness",
    )


CLASSES = {
    "soft": gettext_lazy("soft"),
    "moderately_hard": gettext_lazy("moderately hard"),
    "hard": gettext_lazy("hard"),
    "very_hard": gettext_lazy("very hard"),
}


def water_hardness(data: dict[str, Any]) -> list[Line]:
    lines = []
    value = data["mg_l"]
    if value is None and data["grains"] is not None:
        found = hardness.from_grains(data["grains"])
        value = found.value
        lines.append(line(_("In mg/L"), found))
    if value is None:
        raise BenchError(_("Give the hardness in mg/L or in grains."))
    judged = hardness.hardness(value)
    days = _("every %(days)d days") % {"days": judged.aerator_days}
    return [
        *lines,
        Line(_("The water is"), str(CLASSES[judged.name]), source=judged.source),
        Line(
            _("Clean aerators and shower head"),
            days,
            validity=judged.validity,
            cautions=judged.cautions,
        ),
    ]


class TankForm(CalculatorForm):
    shape = forms.ChoiceField(
        label=gettext_lazy("Shape"),
        choices=[
            ("box", gettext_lazy("Box")),
            ("cylinder", gettext_lazy("Lying or standing cylinder")),
        ],
    )
    length = FigureField(
        label=gettext_lazy("Length"), unit="in", metric="mm", what="The length"
    )
    width = FigureField(
        label=gettext_lazy("Width, or diameter"),
        unit="in",
        metric="mm",
        what=("The length", "The diameter"),
    )
    height = FigureField(
        label=gettext_lazy("Height of a box"),
        unit="in",
        metric="mm",
        required=False,
        what="The length",
    )


def waste(data: dict[str, Any]) -> list[Line]:
    if data["shape"] == "box":
        if data["height"] is None:
            raise BenchError(_("Give the height of the box."))
        volume = wastetank.box_volume(data["length"], data["width"], data["height"])
    else:
        volume = wastetank.cylinder_volume(data["width"], data["length"])
    clean = wastetank.cleaning_amounts(volume.value)
    return [
        line(_("Volume"), volume),
        line(_("Dump at or above"), wastetank.dump_level(volume.value)),
        _span(_("To clean the probes, fill to"), clean.fill, clean),
        _span(_("with ice"), clean.ice, clean),
        _span(_("After dumping put in, of water"), clean.start_water, clean),
    ]


def _span(name: str, span: wastetank.Span, clean: wastetank.CleaningAmounts) -> Line:
    told = f"{figure(span.least, span.unit)} to {figure(span.most, span.unit)}"
    return Line(name, told, source=clean.source, cautions=clean.cautions)


CALCULATORS = (
    Calculator(
        "trap_dry_out",
        gettext_lazy("When do the drain traps dry up?"),
        GROUP,
        gettext_lazy("Between an upper and a lower model; both are named."),
        TrapForm,
        traps,
        ("p-trap", "sewer smell", "evaporation"),
    ),
    Calculator(
        "bleach_dose",
        gettext_lazy("How much bleach disinfects the fresh tank"),
        GROUP,
        gettext_lazy("By tank, strength and target, with the rinses."),
        DoseForm,
        dose,
        ("sanitize", "chlorine", "disinfect"),
    ),
    Calculator(
        "antifreeze",
        gettext_lazy("How much antifreeze, and to what cold it protects"),
        GROUP,
        gettext_lazy("Lines, traps and heater; the strength after dilution."),
        AntifreezeForm,
        winter,
        ("winterizing", "pink", "glycol", "freeze"),
    ),
    Calculator(
        "water_hardness",
        gettext_lazy("How hard is the water?"),
        GROUP,
        gettext_lazy("Its class, and how often aerators want cleaning."),
        HardnessForm,
        water_hardness,
        ("scale", "limescale", "grains"),
    ),
    Calculator(
        "waste_tank",
        gettext_lazy("Waste tank: volume, dump level, cleaning"),
        GROUP,
        gettext_lazy("From its inner measures."),
        TankForm,
        waste,
        ("black tank", "gray tank", "ice", "two thirds"),
    ),
)
