"""Weights: the tongue, what may still be loaded, the combination."""

import re
from decimal import Decimal
from typing import Any

from django import forms

from maintenance.core.calculators import cargo, weights
from maintenance.core.calculators.answers import CalculatorError, num

from ..fields import CountField, FigureField
from .base import Calculator, CalculatorForm, Line, figure, line

GROUP = "Weights"


def pounds(label, **kwargs) -> FigureField:
    kwargs.setdefault("what", "The weight")
    return FigureField(label=label, unit="lb", metric="kg", **kwargs)


COUPLED = ("The weight", "The coupled weight")


class TongueForm(CalculatorForm):
    alone_steer = pounds("Tow vehicle alone: front axle")
    alone_drive = pounds("Tow vehicle alone: rear axle")
    steer = pounds("Coupled: front axle", what=COUPLED)
    drive = pounds("Coupled: rear axle", what=COUPLED)
    trailer = pounds(
        "Coupled: the trailer's axles",
        what=("The weight", "The weight of the trailer"),
    )
    kind = forms.ChoiceField(
        label="Hitch",
        choices=[
            ("conventional", "Ball hitch"),
            ("fifth_wheel", "Fifth wheel"),
        ],
    )


SHARES = {
    "low": "low: the trailer may sway, so move load forward",
    "ok": "within the usual range",
    "high": "high: it overloads hitch and rear axle",
}


def tongue(data: dict[str, Any]) -> list[Line]:
    alone = weights.Ticket(data["alone_steer"], data["alone_drive"])
    coupled = weights.Ticket(data["steer"], data["drive"], data["trailer"])
    found = weights.trailer_weights(alone, coupled)
    rule = weights.SHARE_RULES[data["kind"]]
    verdict = weights.share_verdict(found.trailer.value, found.tongue.value, rule)
    told = f"{SHARES[verdict]}, {rule.low} to {rule.high} %"
    return [
        line("Trailer", found.trailer, 0),
        line("Tongue or pin", found.tongue, 0),
        line("Its share of the trailer", found.share),
        Line("That share is", told, source=rule.source),
        Line("On the trailer's axles", figure(found.trailer_axles, "lb", 0)),
    ]


class LeverForm(CalculatorForm):
    reading = pounds("Bathroom scale reading")
    short_arm = FigureField(
        label="From the tongue to the support",
        unit="ft",
        metric="m",
        what="The length of the arm",
    )
    long_arm = FigureField(
        label="From the tongue to the scale",
        unit="ft",
        metric="m",
        what="The length of the arm",
    )


class CargoForm(CalculatorForm):
    label = forms.ChoiceField(
        label="Label",
        choices=[
            ("occc", "OCCC (motorhome, from 2008)"),
            ("ccc", "CCC (trailer, from 2008)"),
            ("ccc_2000", "CCC (older label, 2000 to 2008)"),
            ("ncc", "NCC (label of 1996 to 2000)"),
        ],
    )
    gvwr = pounds("GVWR", what=("The GVWR", "The weight", "The rating"))
    uvw = pounds(
        "UVW, the unloaded weight as the label defines it",
        what=("The UVW", "The weight"),
    )
    water = pounds("Water of full tanks (older label)", required=False)
    propane = pounds("Full propane (older label)", required=False)
    berths = forms.IntegerField(
        label="Sleeping places (older label)",
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
    return [line("You may load", found, 0)]


def lever(data: dict[str, Any]) -> list[Line]:
    found = weights.lever_weight(
        data["reading"], short_arm=data["short_arm"], long_arm=data["long_arm"]
    )
    return [line("Tongue", found, 0)]


class PeopleForm(CalculatorForm):
    placard = pounds(
        "Placard figure for people and cargo",
        what="The cargo on the placard",
    )
    people = CountField(label="People aboard", initial="2", what="The number of people")
    each = pounds(
        "Weight of each, about",
        initial="150 lb",
        what="The weight of a person",
    )
    own = forms.CharField(
        label="Or each person's own weight",
        help_text="Like 150, 180, 95. Used instead of the two above.",
        max_length=200,
        required=False,
    )

    def clean_own(self) -> list[Decimal]:
        """In the unit that a bare weight has here, or in that typed beside one."""
        field: Any = self.fields["each"]
        parts = OWN_WEIGHTS.split(self.cleaned_data["own"].strip())
        found = [field.clean(part) for part in parts if part]
        return [weight for weight in found if weight is not None]


# Between two weights; a unit belongs to the number before it.
OWN_WEIGHTS = re.compile(r"[,;\s]+(?=[0-9])")


def people(data: dict[str, Any]) -> list[Line]:
    count = int(data["people"])
    if count != data["people"] or not 0 <= count <= 20:
        raise CalculatorError("The number of people", str(data["people"]), "0 to 20")
    left = cargo.cargo_left(data["placard"], data["own"] or [data["each"]] * count)
    return [line("Left for cargo", left, 0)]


class FluidForm(CalculatorForm):
    gallons = FigureField(
        label="Volume of the tank",
        unit="gal",
        metric="L",
        what="The volume",
    )
    fluid = forms.ChoiceField(
        label="Fluid",
        choices=[
            ("water", "Water"),
            ("propane", "Propane"),
            ("gasoline", "Gasoline"),
            ("diesel", "Diesel"),
        ],
    )
    percent = CountField(
        label="Filled to (%)", initial="100", what="The fill", times=100
    )


def fluid(data: dict[str, Any]) -> list[Line]:
    found = cargo.fluid_weight(
        data["gallons"], data["fluid"], fill=data["percent"] / 100
    )
    return [line("It weighs", found)]


class CombinationForm(CalculatorForm):
    rating = pounds(
        "GCWR, the manufacturer's rating of both together",
        what=("The rating", "The weight"),
    )
    tow_vehicle = pounds("Tow vehicle or coach, loaded, with everybody aboard")
    towed = pounds("Trailer or towed vehicle, loaded")


def combination(data: dict[str, Any]) -> list[Line]:
    """Each alone on a scale: no tongue weight is counted twice."""
    parts = [weights.margin("", data[name], data["rating"]).actual for name in UNITS]
    found = weights.margin("GCWR", sum(parts, Decimal(0)), data["rating"])
    told = " - ".join(num(x) for x in (found.limit, *parts))
    return [
        Line("Together they weigh", figure(found.actual, "lb", 0)),
        Line(
            "Left to the rating" if found.within else "Over the rating by",
            figure(abs(found.left), "lb", 0),
            f"{told} = {num(found.left)} lb",
            "Arithmetic; the rating is the manufacturer's.",
            "Hitch, axles and tires have their own ratings: the lowest one counts.",
            weights.SCALE_CAUTIONS,
        ),
    ]


UNITS = ("tow_vehicle", "towed")


class HitchForm(CalculatorForm):
    trailer = pounds(
        "Trailer, loaded, up to 10,000 lb (4,536 kg)",
        what="The weight of the trailer",
    )
    distributing = forms.BooleanField(
        label="With a weight-distributing hitch", required=False
    )
    tongue = pounds("Tongue weight, optional", required=False)


def hitch(data: dict[str, Any]) -> list[Line]:
    most = weights.hitch_class_limit(data["trailer"], distributing=data["distributing"])
    lines = [line("The tongue may weigh at most", most, 0)]
    if data["tongue"] is None:
        return lines
    found = weights.margin("tongue", data["tongue"], most.value)
    name = "Left to the limit" if found.within else "Too heavy by"
    told = figure(abs(found.left), "lb", 0)
    formula = f"{num(found.limit)} - {num(found.actual)} = {num(found.left)} lb"
    return [*lines, Line(name, told, formula, cautions=weights.SCALE_CAUTIONS)]


CALCULATORS = (
    Calculator(
        "tongue_weight",
        "Tongue weight from scale tickets",
        GROUP,
        "From two scale tickets, with and without the trailer.",
        TongueForm,
        tongue,
        ("CAT scale", "pin weight", "hitch weight", "sway"),
    ),
    Calculator(
        "tongue_lever",
        "Tongue weight with a bathroom scale",
        GROUP,
        "The tongue rests on a beam between a support and the scale.",
        LeverForm,
        lever,
    ),
    Calculator(
        "combined_weight",
        "Combined weight against the GCWR",
        GROUP,
        "Tow vehicle and trailer together.",
        CombinationForm,
        combination,
        ("GCWR", "GCVW", "may I tow it", "towing capacity", "gross combined weight"),
    ),
    Calculator(
        "hitch_tongue",
        "Tongue weight limit on a ball hitch",
        GROUP,
        "By the class of the trailer's weight.",
        HitchForm,
        hitch,
        ("hitch class", "J684", "weight distribution", "tongue limit"),
    ),
    Calculator(
        "cargo_capacity",
        "Cargo capacity by label",
        GROUP,
        "OCCC, CCC and NCC are calculated differently.",
        CargoForm,
        capacity,
        ("CCC", "OCCC", "NCC", "payload"),
    ),
    Calculator(
        "cargo_people",
        "Cargo left with people aboard",
        GROUP,
        "The placard's figure less the people.",
        PeopleForm,
        people,
        ("payload", "passengers"),
    ),
    Calculator(
        "fluid_weight",
        "Weight of a full tank",
        GROUP,
        "Water, fuel or propane by volume.",
        FluidForm,
        fluid,
        ("water weight", "what a full tank weighs"),
    ),
)
