"""What may still be loaded: the label's figure by its kind and date, people, fluids.

All weights are in lb, volumes in US gallons. "CCC" has had three meanings, and the
unloaded weight (UVW) holds propane today but did not before 2008: the kind of label
goes with the figure.
"""

from collections.abc import Mapping, Sequence
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

# occc: motorhome since 2 June 2008 (people count); ccc: trailer since then;
# ccc_2000: industry label 2000-2008; ncc: industry label 1996-2000
Label = Literal["occc", "ccc", "ccc_2000", "ncc"]

SEAT = Decimal(150)  # lb, 49 CFR 567.4(g)(3)
BERTH = Decimal(154)  # lb, RVIA label of 2000
# lb per US gallon: water by the label rule of FMVSS 110/120 (8.345 at 1 kg/L);
# propane by a motorhome manual; gasoline and diesel by a published page
DENSITY: Mapping[str, Decimal] = {
    "water": Decimal("8.3"),
    "propane": Decimal("4.2"),
    "gasoline": Decimal("6.3"),
    "diesel": Decimal("7"),
}
Fluid = Literal["water", "propane", "gasoline", "diesel"]

LABEL_SOURCES: Mapping[Label, str] = {
    "occc": "FMVSS 110 S9.3 and 120 S10.3, in force June 2, 2008: people and cargo; "
    "UVW with full propane, without water (clause from memory).",
    "ccc": "FMVSS 110 S9.3 and 120 S10.3, in force June 2, 2008: cargo, water is "
    "cargo; UVW with full propane (clause from memory).",
    "ccc_2000": "RVIA label, September 2000: GVWR - UVW - full water - full propane "
    "- 154 lb for each sleeping place (as trade pages tell it: common practice).",
    "ncc": "RVIA label 1996 to 2000: GVWR - UVW.",
}
_WEIGHT = limits("The weight", "0", "100000", "lb")
_GVWR = limits("The GVWR", "500", "80000", "lb")
_CARGO = limits("The cargo on the placard", "0", "20000", "lb")
_PERSON = limits("The weight of a person", "1", "700", "lb")
_GALLONS = limits("The volume", "0", "500", "gal")
_FILL = limits("The fill", "0", "1")
_SEATS = limits("The number of seats or berths", "0", "20")

CAUTIONS = (
    "An overloaded rig can fail on the road. The figure on the label comes first, less "
    "anything added since.",
    "Forgotten weight overloads axles. On a motorhome's label, water, fuel and the "
    "tongue of a towed trailer count as cargo.",
)


def fluid_weight(gallons: Figure, fluid: Fluid, *, fill: Figure = 1) -> Answer:
    """What a tank of `gallons`, full to the part `fill`, weighs in lb."""
    volume, part = _GALLONS.check(gallons), _FILL.check(fill)
    value = volume * part * DENSITY[fluid]
    return Answer(
        value,
        "lb",
        f"{num(volume)} gal · {num(part)} · {num(DENSITY[fluid])} = {num(value)} lb",
        "Label rule of FMVSS 110/120: 8.3 lb per gallon of water."
        if fluid == "water"
        else "Published pages; other figures are within about 7 %.",
    )


@dataclass(frozen=True, slots=True)
class Aboard:
    """What an old label takes off: water and propane in lb, sleeping places."""

    water: Decimal = Decimal(0)
    propane: Decimal = Decimal(0)
    berths: int = 0


def cargo_capacity(
    label: Label, *, gvwr: Figure, uvw: Figure, aboard: Aboard | None = None
) -> Answer:
    """The label's figure in lb, reckoned the way its kind was.

    `uvw` is the unloaded weight as that kind means it (`LABEL_SOURCES`); `aboard` is
    used for `ccc_2000` only. `BenchError`: beyond the spans, or UVW above GVWR.
    """
    most, empty = _GVWR.check(gvwr), _WEIGHT.check(uvw)
    if empty > most:
        raise CalculatorError(
            "The UVW", f"{num(empty)} lb", f"0 to {num(most)} lb (GVWR)"
        )
    off = [empty]
    if label == "ccc_2000" and aboard is not None:
        off += [_WEIGHT.check(aboard.water), _WEIGHT.check(aboard.propane)]
        off.append(_SEATS.check(aboard.berths) * BERTH)
    value = most - sum(off)
    told = " - ".join(num(each) for each in (most, *off))
    return Answer(
        value, "lb", f"{told} = {num(value)} lb", LABEL_SOURCES[label], "", CAUTIONS
    )


def seats_covered(occc: Figure, seats: int) -> Answer:
    """What of OCCC is left with a person of 150 lb on each belted seat.

    Below 0 the label would break its rule (NHTSA letter 08-003469).
    """
    most, count = _CARGO.check(occc), _SEATS.check(seats)
    value = most - count * SEAT
    told = f"{num(most)} - {num(count)} · 150 = {num(value)} lb"
    return Answer(value, "lb", told, "NHTSA letter 08-003469; 49 CFR 567.4(g)(3).")


def cargo_left(placard: Figure, people: Sequence[Figure]) -> Answer:
    """What the placard leaves for cargo, in lb, once the people are aboard.

    Below 0: too much. Source: the federal steps for the load limit (owner's manual).
    """
    most = _CARGO.check(placard)
    if len(people) > 60:
        raise CalculatorError("The number of people", str(len(people)), "0 to 60")
    weights = [_PERSON.check(each) for each in people]
    value = most - sum(weights)
    told = " - ".join(num(each) for each in (most, *weights))
    return Answer(
        value,
        "lb",
        f"{told} = {num(value)} lb",
        "Federal steps for the correct load limit, as printed in owner's manuals.",
        "The tongue or pin weight of a trailer counts as cargo too.",
        CAUTIONS,
    )


def relabel_trigger(gvwr: Figure) -> Answer:
    """Weight added before the first sale, in lb, above which the label must change.

    The lesser of 1.5 % of GVWR and 100 lb (FMVSS 110 S10, 120 S10).
    """
    most = _GVWR.check(gvwr)
    value = min(most * 15 / 1000, Decimal(100))
    told = f"the lesser of 1.5 % of {num(most)} and 100 = {num(value)} lb"
    return Answer(value, "lb", told, "FMVSS 110 S10 and 120 S10 (rule summary).")
