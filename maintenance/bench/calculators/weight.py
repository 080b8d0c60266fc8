"""Weights: the tongue, what may still be loaded, the combination."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from maintenance.core.bench import cargo, weights
from maintenance.core.bench.answers import BenchError, num

from ..fields import FigureField, NumberField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = gettext_lazy("Weights")


def pounds(label, **kwargs) -> FigureField:
    kwargs.setdefault("what", "The weight")
    return FigureField(label=label, unit="lb", metric="kg", **kwargs)


COUPLED = ("The weight", "The coupled weight")


class TongueForm(CalculatorForm):
    alone_steer = pounds(gettext_lazy("Tow vehicle alone: front axle"))
    alone_drive = pounds(gettext_lazy("Tow vehicle alone: rear axle"))
    steer = pounds(gettext_lazy("Coupled: front axle"), what=COUPLED)
    drive = pounds(gettext_lazy("Coupled: rear axle"), what=COUPLED)
    trailer = pounds(
        gettext_lazy("Coupled: the trailer's axles"),
        what=("The weight", "The weight of the trailer"),
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("Hitch"),
        choices=[
            ("conventional", gettext_lazy("Ball hitch")),
            ("fifth_wheel", gettext_lazy("Fifth wheel")),
        ],
    )


SHARES = {
    "low": gettext_lazy("low: the trailer may sway; move load forward"),
    "ok": gettext_lazy("within the usual span"),
    "high": gettext_lazy("high: it weighs on hitch and rear axle"),
}


def tongue(data: dict[str, Any]) -> list[Line]:
    alone = weights.Ticket(data["alone_steer"], data["alone_drive"])
    coupled = weights.Ticket(data["steer"], data["drive"], data["trailer"])
    found = weights.trailer_weights(alone, coupled)
    rule = weights.SHARE_RULES[data["kind"]]
    verdict = weights.share_verdict(found.trailer.value, found.tongue.value, rule)
    told = _("%(verdict)s, %(low)s to %(high)s %%") % {
        "verdict": SHARES[verdict],
        "low": rule.low,
        "high": rule.high,
    }
    return [
        line(_("Trailer"), found.trailer, 0),
        line(_("Tongue or pin"), found.tongue, 0),
        line(_("Its share"), found.share),
        Line(_("Judged"), told, source=rule.source),
        Line(_("On the trailer's axles"), figure(found.trailer_axles, "lb", 0)),
    ]


class LeverForm(CalculatorForm):
    reading = pounds(gettext_lazy("The bathroom scale shows"))
    short_arm = FigureField(
        label=gettext_lazy("From the tongue to the plain support"),
        unit="ft",
        metric="m",
        what="The length of the arm",
    )
    long_arm = FigureField(
        label=gettext_lazy("From the tongue to the scale"),
        unit="ft",
        metric="m",
        what="The length of the arm",
    )


class CargoForm(CalculatorForm):
    label = forms.ChoiceField(
        label=gettext_lazy("The label says"),
        choices=[
            ("occc", gettext_lazy("OCCC (motorhome, from 2008)")),
            ("ccc", gettext_lazy("CCC (trailer, from 2008)")),
            ("ccc_2000", gettext_lazy("CCC (older label, 2000 to 2008)")),
            ("ncc", gettext_lazy("NCC (label of 1996 to 2000)")),
        ],
    )
    gvwr = pounds(gettext_lazy("GVWR"), what=("The GVWR", "The weight", "The rating"))
    uvw = pounds(
        gettext_lazy("UVW, unloaded as the label means it"),
        what=("The UVW", "The weight"),
    )
    water = pounds(gettext_lazy("Water of full tanks (older label)"), required=False)
    propane = pounds(gettext_lazy("Full propane (older label)"), required=False)
    berths = forms.IntegerField(
        label=gettext_lazy("Sleeping places (older label)"),
        required=False,
        min_value=0,
        max_value=20,
    )


def capacity(data: dict[str, Any]) -> list[Line]:
    none = Decimal(0)
    aboard = cargo.Aboard(
        data["water"] or none, data["propane"] or none, data["berths"] or 0
    )
    found = cargo.cargo_capacity(
        data["label"], gvwr=data["gvwr"], uvw=data["uvw"], aboard=aboard
    )
    return [line(_("May be loaded"), found, 0)]


def lever(data: dict[str, Any]) -> list[Line]:
    found = weights.lever_weight(
        data["reading"], short_arm=data["short_arm"], long_arm=data["long_arm"]
    )
    return [line(_("Tongue"), found, 0)]


class PeopleForm(CalculatorForm):
    placard = pounds(
        gettext_lazy("The placard: people and cargo together"),
        what="The cargo on the placard",
    )
    people = NumberField(
        label=gettext_lazy("People aboard"), initial="2", what="The number of people"
    )
    each = pounds(
        gettext_lazy("Each weighs about"),
        initial="150 lb",
        what="The weight of a person",
    )


def people(data: dict[str, Any]) -> list[Line]:
    count = int(data["people"])
    if count != data["people"] or not 0 <= count <= 20:
        raise BenchError("The number of people", str(data["people"]), "0 to 20")
    left = cargo.cargo_left(data["placard"], [data["each"]] * count)
    return [line(_("Left for cargo"), left, 0)]


class FluidForm(CalculatorForm):
    gallons = FigureField(
        label=gettext_lazy("Volume of the tank"),
        unit="gal",
        metric="L",
        what="The volume",
    )
    fluid = forms.ChoiceField(
        label=gettext_lazy("Of"),
        choices=[
            ("water", gettext_lazy("Water")),
            ("propane", gettext_lazy("Propane")),
            ("gasoline", gettext_lazy("Gasoline")),
            ("diesel", gettext_lazy("Diesel")),
        ],
    )
    percent = NumberField(
        label=gettext_lazy("Filled to (%)"), initial="100", what="The fill", times=100
    )


def fluid(data: dict[str, Any]) -> list[Line]:
    found = cargo.fluid_weight(
        data["gallons"], data["fluid"], fill=data["percent"] / 100
    )
    return [line(_("It weighs"), found)]


class CombinationForm(CalculatorForm):
    rating = pounds(
        gettext_lazy("GCWR, the maker's rating of both together"),
        what=("The rating", "The weight"),
    )
    tow_vehicle = pounds(gettext_lazy("Tow vehicle or coach, loaded, everybody aboard"))
    towed = pounds(gettext_lazy("Trailer or towed vehicle, loaded"))


def combination(data: dict[str, Any]) -> list[Line]:
    """Each alone on a scale: no tongue weight is counted twice."""
    parts = [weights.margin("", data[name], data["rating"]).actual for name in UNITS]
    found = weights.margin("GCWR", sum(parts, Decimal(0)), data["rating"])
    told = " - ".join(num(x) for x in (found.limit, *parts))
    return [
        Line(_("Together they weigh"), figure(found.actual, "lb", 0)),
        Line(
            _("Left of the rating") if found.within else _("Over the rating by"),
            figure(abs(found.left), "lb", 0),
            f"{told} = {num(found.left)} lb",
            _("Arithmetic; the rating is the maker's."),
            _("Hitch, axles and tires have ratings of their own: the lowest rules."),
            weights.SCALE_CAUTIONS,
        ),
    ]


UNITS = ("tow_vehicle", "towed")


class HitchForm(CalculatorForm):
    trailer = pounds(
        gettext_lazy("Trailer, loaded, up to 10,000 lb (4,536 kg)"),
        what="The weight of the trailer",
    )
    distributing = forms.BooleanField(
        label=gettext_lazy("With a weight-distributing hitch"), required=False
    )
    tongue = pounds(
        gettext_lazy("Tongue weight, if you want it judged"), required=False
    )


def hitch(data: dict[str, Any]) -> list[Line]:
    most = weights.hitch_class_limit(data["trailer"], distributing=data["distributing"])
    lines = [line(_("The tongue may weigh at most"), most, 0)]
    if data["tongue"] is None:
        return lines
    found = weights.margin("tongue", data["tongue"], most.value)
    name = _("Left of it") if found.within else _("Too heavy by")
    told = figure(abs(found.left), "lb", 0)
    formula = f"{num(found.limit)} - {num(found.actual)} = {num(found.left)} lb"
    return [*lines, Line(name, told, formula, cautions=weights.SCALE_CAUTIONS)]


CALCULATORS = (
    Calculator(
        "tongue_weight",
        gettext_lazy("Tongue weight from scale tickets"),
        GROUP,
        gettext_lazy("Two passes over a scale, with and without the trailer."),
        TongueForm,
        tongue,
        ("CAT scale", "pin weight", "hitch weight", "sway"),
    ),
    Calculator(
        "tongue_lever",
        gettext_lazy("Tongue weight with a bathroom scale"),
        GROUP,
        gettext_lazy(
            "The tongue rests on a beam, between a plain support and the scale."
        ),
        LeverForm,
        lever,
    ),
    Calculator(
        "combined_weight",
        gettext_lazy("Is the combination within its rating?"),
        GROUP,
        gettext_lazy("Tow vehicle and trailer together against the GCWR."),
        CombinationForm,
        combination,
        ("GCWR", "GCVW", "may I tow it", "towing capacity", "gross combined weight"),
    ),
    Calculator(
        "hitch_tongue",
        gettext_lazy("How heavy may the tongue be on a ball hitch?"),
        GROUP,
        gettext_lazy("By the class of the trailer's weight."),
        HitchForm,
        hitch,
        ("hitch class", "J684", "weight distribution", "tongue limit"),
    ),
    Calculator(
        "cargo_capacity",
        gettext_lazy("What may be loaded, by the label's kind"),
        GROUP,
        gettext_lazy("OCCC, CCC and NCC are reckoned differently."),
        CargoForm,
        capacity,
        ("CCC", "OCCC", "NCC", "payload"),
    ),
    Calculator(
        "cargo_people",
        gettext_lazy("What is left for cargo with people aboard"),
        GROUP,
        gettext_lazy("The placard's figure less the people."),
        PeopleForm,
        people,
        ("payload", "passengers"),
    ),
    Calculator(
        "fluid_weight",
        gettext_lazy("What a full tank weighs"),
        GROUP,
        gettext_lazy("Water, fuel or propane by volume."),
        FluidForm,
        fluid,
        ("water weight",),
    ),
)
