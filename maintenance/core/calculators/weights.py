"""Scale tickets: what each axle, the tongue or the pin carries, and what is left.

All weights are in lb.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from maintenance.core.calculators.answers import (
    Answer,
    CalculatorError,
    Figure,
    limits,
    num,
)

_WEIGHT = limits("The weight", "0", "100000", "lb")
_RATING = limits("The rating", "100", "100000", "lb")
_TRAILER = limits("The weight of the trailer", "100", "60000", "lb")
_TIRES = limits("The number of tires", "1", "8")
_ARM = limits("The length of the arm", "0.1", "50", "ft")

SCALE_CAUTIONS = (
    "A rig weighed empty can be overloaded on the road. Weigh it loaded as for a trip, "
    "with everybody aboard and the tanks as you travel.",
    "The bars of a weight-distributing hitch move tongue weight to other axles. Weigh "
    "with the bars slack.",
    "An overloaded part can fail. Above any one rating the rig is not fit to travel "
    "until you move load or take it out.",
)


@dataclass(frozen=True, slots=True)
class Ticket:
    """One pass over the scale: what stands on each platform, in lb."""

    steer: Decimal
    drive: Decimal
    trailer: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class TrailerWeights:
    """`tongue` is the pin weight of a fifth wheel; `share` in percent of `trailer`."""

    trailer: Answer
    tongue: Answer
    share: Answer
    trailer_axles: Decimal


def tongue_weight(coupled: Figure, alone: Figure) -> Answer:
    """Tow vehicle coupled, the trailer's wheels off the platform, less alone.

    `BenchError`: weights beyond 0 to 100,000 lb, or lighter when coupled.
    """
    with_trailer, single = _WEIGHT.check(coupled), _WEIGHT.check(alone)
    value = with_trailer - single
    if value < 0:
        raise CalculatorError(
            "The coupled weight", f"{num(with_trailer)} lb", f"{num(single)} lb or more"
        )
    return Answer(
        value,
        "lb",
        f"{num(with_trailer)} - {num(single)} = {num(value)} lb",
        "Two weighings of the tow vehicle (a newspaper's towing guide).",
        cautions=SCALE_CAUTIONS,
    )


def trailer_weights(alone: Ticket, coupled: Ticket) -> TrailerWeights:
    """Trailer, tongue or pin weight and its share, from two tickets.

    Trailer = combined - tow vehicle alone; tongue = what the tow vehicle's axles
    carry more when coupled. `BenchError`: a ticket that cannot be.
    """
    lone = _WEIGHT.check(alone.steer) + _WEIGHT.check(alone.drive)
    towing = _WEIGHT.check(coupled.steer) + _WEIGHT.check(coupled.drive)
    axles = _WEIGHT.check(coupled.trailer)
    tongue = tongue_weight(towing, lone)
    total = _TRAILER.check(towing + axles - lone)
    share = tongue.value / total * 100
    return TrailerWeights(
        trailer=Answer(
            total,
            "lb",
            f"({num(towing)} + {num(axles)}) - {num(lone)} = {num(total)} lb",
            "Combined less tow vehicle alone (published towing guide).",
            cautions=SCALE_CAUTIONS,
        ),
        tongue=tongue,
        share=Answer(
            share,
            "%",
            f"{num(tongue.value)} ÷ {num(total)} · 100 = {num(share, 1)} %",
            "Arithmetic.",
        ),
        trailer_axles=axles,
    )


def lever_weight(reading: Figure, *, short_arm: Figure, long_arm: Figure) -> Answer:
    """Tongue weight by a scale under a beam: reading · whole span / short arm.

    `short_arm` from the tongue to the near support, `long_arm` from the tongue to the
    scale, in one unit. Source: a towing-parts page. `BenchError` beyond the spans.
    """
    shown = _WEIGHT.check(reading)
    near, far = _ARM.check(short_arm), _ARM.check(long_arm)
    value = shown * (near + far) / near
    told = f"{num(shown)} · ({num(near)} + {num(far)}) ÷ {num(near)} = {num(value)} lb"
    return Answer(
        value,
        "lb",
        told,
        "Lever method (a towing-parts page).",
        cautions=(
            "A tongue that drops crushes. Chock the wheels, make sure the beam can't "
            "roll or tip, and keep feet and hands from under the tongue.",
        ),
    )


# --- the share that a tongue should carry -------------------------------------------

Share = Literal["low", "ok", "high"]


@dataclass(frozen=True, slots=True)
class ShareRule:
    """Percent of the loaded trailer on the tongue or pin, as published."""

    key: str
    low: Decimal
    high: Decimal
    source: str


SHARE_RULES: Mapping[str, ShareRule] = {
    rule.key: rule
    for rule in (
        ShareRule(
            "conventional",
            Decimal(10),
            Decimal(15),
            "Owner's manuals of several tow vehicles",
        ),
        ShareRule(
            "narrow", Decimal(9), Decimal(11), "Two tow vehicles' owner's manuals"
        ),
        ShareRule("fifth_wheel", Decimal(15), Decimal(25), "Common practice"),
        ShareRule(
            "fifth_wheel_narrow", Decimal(20), Decimal(25), "Glossaries of the trade"
        ),
        ShareRule(
            "uk_caravan",
            Decimal(5),
            Decimal(7),
            "National Caravan Council Towing Guide p. 11",
        ),
    )
}


def share_verdict(trailer: Figure, tongue: Figure, rule: ShareRule) -> Share:
    """Whether `tongue` of a loaded `trailer` is low, ok or high by `rule`.

    No US regulation gives a percentage; the tow vehicle's manual comes first.
    """
    share = _WEIGHT.check(tongue) / _TRAILER.check(trailer) * 100
    if share < rule.low:
        return "low"
    return "ok" if share <= rule.high else "high"


def hitch_class_limit(trailer: Figure, *, distributing: bool) -> Answer:
    """The most tongue weight in lb by SAE J684, up to a trailer of 10,000 lb.

    To 2,000 lb: 200, with weight distribution 300; to 3,500: 300 or 500; to 10,000:
    15 % of the trailer (a published table; the standard itself was not seen).
    """
    weight = limits("The weight of the trailer", "100", "10000", "lb").check(trailer)
    if weight <= 2000:
        value = Decimal(300 if distributing else 200)
    elif weight <= 3500:
        value = Decimal(500 if distributing else 300)
    else:
        value = weight * 15 / 100
    return Answer(
        value,
        "lb",
        f"{num(weight)} lb of trailer: {num(value)} lb",
        "SAE J684, by a published table (the standard itself was not seen).",
        "The hitch's own label may allow less: the lowest figure counts.",
    )


# --- margins ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Margin:
    """`left` is below 0 where `actual` is over `limit`; all in lb."""

    name: str
    actual: Decimal
    limit: Decimal

    @property
    def left(self) -> Decimal:
        return self.limit - self.actual

    @property
    def within(self) -> bool:
        return self.left >= 0


def margin(name: str, actual: Figure, limit: Figure) -> Margin:
    """What is left of a rating (GVWR, GAWR, GCWR, OCCC …) that bears `actual`."""
    return Margin(name, _WEIGHT.check(actual), _RATING.check(limit))


def wheel_margins(gawr: Figure, left: Figure, right: Figure) -> tuple[Margin, Margin]:
    """Each wheel end against half the GAWR (motorhome and camper manuals)."""
    half = _RATING.check(gawr) / 2
    ends = (("left", left), ("right", right))
    one, two = (Margin(side, _WEIGHT.check(load), half) for side, load in ends)
    return one, two


def axle_rating(axle: Figure, *, tires: int, tire_rating: Figure) -> Answer:
    """The GAWR that counts: its weakest part, axle or tires together (49 CFR 571.3)."""
    steel, count = _RATING.check(axle), _TIRES.check(tires)
    rubber = count * _RATING.check(tire_rating)
    value = min(steel, rubber)
    told = f"the lesser of {num(steel)} and {num(count)} · {num(tire_rating)}"
    return Answer(
        value,
        "lb",
        f"{told} = {num(value)} lb",
        "49 CFR 571.3; FMVSS 110 and 120: the tires of an axle bear its GAWR.",
        "Never above the GAWR on the manufacturer's label.",
    )


def tire_margin(
    axle_load: Figure,
    *,
    tires: int,
    tire_rating: Figure,
    passenger_on_trailer: bool = False,
) -> Margin:
    """What the tires of an axle have left, from the load each carries at its pressure.

    A passenger tire on a truck, multipurpose vehicle or trailer bears its rating
    divided by 1.10 (FMVSS 120 S5.1.2, FMVSS 110 S4.2.2, as an interpretation of NHTSA
    quotes them, nht76-1.47). Take the heavier side of an
    axle doubled where the ends were weighed.
    """
    each = _RATING.check(tire_rating)
    if passenger_on_trailer:
        each /= Decimal("1.10")
    return Margin("tires", _WEIGHT.check(axle_load), _TIRES.check(tires) * each)


def combined_rating(units: tuple[Figure, ...], label: Figure | None = None) -> Answer:
    """GCWR in lb: the greater of the maker's label and the sum of the units' ratings.

    49 CFR 390.5 (rule of 2014). `units`: GVWR or actual weight of each unit. A
    motorhome's maker means its own limit for coach and towed unit: heed the lower.
    """
    weights = [_RATING.check(unit) for unit in units]
    total = sum(weights, Decimal(0))
    value = total if label is None else max(total, _RATING.check(label))
    told = " + ".join(num(each) for each in weights) or "0"
    either = "" if label is None else f", the label {num(label)}: the greater is"
    return Answer(
        value,
        "lb",
        f"{told} = {num(total)} lb" + (either and f"{either} {num(value)} lb"),
        "49 CFR 390.5 (rule of 2014).",
        "This decides which rules apply. The rig may weigh the manufacturer's GCWR, "
        "which may be less.",
        SCALE_CAUTIONS,
    )
