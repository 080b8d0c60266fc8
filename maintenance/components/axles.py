"""The axles of a rig, and whether its tires carry what each is rated for."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.tires import (
    TireError,
    axle_margin,
    carries,
    load_of,
    read_service,
)
from maintenance.core.units import convert, show, show_number
from maintenance.vehicles.models import WHEEL_PLACES, Rig, RigKind

from .models import AxleRating, Component, ComponentKind

DUAL = {"LRO", "LRI", "RRI", "RRO"}
# Motorhomes, vans and trucks are no passenger cars, nor are trailers.
CARS = {RigKind.TOWED_CAR}


@dataclass(frozen=True, slots=True)
class Axle:
    number: int  # from the front
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AxleCheck:
    """`carried` and `margin` are in the unit of the rating, None where not known; below
    zero the tires carry less than the axle may."""

    axle: Axle
    rating: AxleRating | None
    carried: Decimal | None
    margin: Decimal | None
    words: str

    @property
    def short(self) -> bool:
        return self.margin is not None and self.margin < 0


def axle_of(place: str) -> str:
    """Which axle a wheel is on, the same for both of its sides; empty for no wheel."""
    return place[1] if place in WHEEL_PLACES else ""


def axles_of(rig: Rig) -> list[Axle]:
    """The wheel places by axle, front first."""
    groups: dict[str, list[str]] = {}
    for place in rig.places:
        groups.setdefault(axle_of(place), []).append(place)
    return [Axle(n, tuple(places)) for n, places in enumerate(groups.values(), 1)]


def check_axles(rig: Rig, tires: Iterable[Component]) -> list[AxleCheck]:
    """49 CFR 571.110 and 571.120: the tires of an axle carry at least its rating."""
    ratings = {row.axle: row for row in rig.axle_ratings.all()}
    at = {one.place: one for one in tires if one.kind == ComponentKind.TIRE}
    return [_check(axle, ratings.get(axle.number), at, rig) for axle in axles_of(rig)]


def _check(
    axle: Axle, rating: AxleRating | None, at: dict[str, Component], rig: Rig
) -> AxleCheck:
    unit = rating.unit if rating else "lb"
    loads = [_load(at.get(place), place, rig) for place in axle.places]
    known = [load for load in loads if load is not None]
    if rating is None:
        return AxleCheck(axle, None, None, None, "Its rating isn't entered yet.")
    if len(known) < len(loads):
        words = "Enter the load index of each of its tires; on dual wheels, both."
        return AxleCheck(axle, rating, None, None, words)
    margin = axle_margin(known, convert(rating.rating, rating.unit, "kg"))
    carried = _whole(convert(sum(known, Decimal(0)), "kg", unit))
    left = _whole(convert(margin, "kg", unit))
    text = (
        "Its tires carry %(carried)s, %(left)s less than its rating."
        if margin < 0
        else "Its tires carry %(carried)s, %(left)s more than its rating."
    )
    words = text % {"carried": show(carried, unit), "left": show(abs(left), unit)}
    return AxleCheck(axle, rating, carried, left, words)


def _load(tire: Component | None, place: str, rig: Rig) -> Decimal | None:
    if tire is None or not tire.service:
        return None
    divided = tire.passenger and rig.kind not in CARS
    return carries(
        read_service(tire.service), dual_wheel=place in DUAL, passenger=divided
    )


def _whole(value: Decimal) -> Decimal:
    return value.quantize(Decimal(1))


def service_words(text: str) -> str:
    """“121/118S” as loads and speed; empty for what cannot be read."""
    try:
        found = read_service(text)
    except TireError:
        return ""
    single = load_of(found.single)
    words = f"{show_number(single)} kg on a single wheel"
    if found.dual is not None:
        words += f", {show_number(load_of(found.dual))} kg on a dual wheel"
    if found.speed:
        words += f", speed symbol {found.speed}"
    return words
