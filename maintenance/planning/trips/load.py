"""What the trip's load weighs: people, water and cargo as they were planned."""

from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.calculators.cargo import SEAT, fluid_weight
from maintenance.core.units import convert, show
from maintenance.vehicles.models import LabelKind, Trip, WeightLabel


@dataclass(frozen=True, slots=True)
class Load:
    """In lb; `parts` says what it is made of, each as people read it."""

    total: Decimal
    parts: list[tuple[str, str]]
    unit: str
    label: str = ""  # what the label's figure leaves, in words
    over: bool = False

    @property
    def shown(self) -> str:
        return show(convert(self.total, "lb", self.unit), self.unit, places=0)


def load_of(trip: Trip) -> Load | None:
    """None where nothing was said of it. People are taken as 150 lb each: common
    practice, from the seat of 49 CFR 567.4(g)(3), which is about ratings and not about
    who rides. Water is 8.3 lb a gallon (the label rule of FMVSS 110 and 120)."""
    unit = trip.cargo_unit
    found: list[tuple[str, str, Decimal]] = []
    if trip.people:
        weight = trip.people * SEAT
        found.append(("People", f"{trip.people} of {_show(SEAT, unit)}", weight))
    if trip.water is not None:
        gallons = convert(trip.water, trip.water_unit, "gal")
        water = fluid_weight(gallons, "water").value
        found.append(("Fresh water", show(trip.water, trip.water_unit), water))
    if trip.cargo is not None:
        cargo = convert(trip.cargo, trip.cargo_unit, "lb")
        found.append(("Cargo", show(trip.cargo, trip.cargo_unit), cargo))
    if not found:
        return None
    total = sum((weight for *_said, weight in found), Decimal(0))
    shown = ((name, said, _show(weight, unit)) for name, said, weight in found)
    parts = [(n, said if said == w else f"{said} = {w}") for n, said, w in shown]
    words, over = _against_label(trip, total, found)
    return Load(total, parts, unit, words, over)


def _against_label(
    trip: Trip, total: Decimal, found: list[tuple[str, str, Decimal]]
) -> tuple[str, bool]:
    """A trailer's label and the old ones count no people: those have their own seats or
    are taken off already."""
    label = WeightLabel.objects.filter(rig=trip.rig).first()
    if label is None or label.capacity is None:
        return "", False
    with_people = label.kind in (LabelKind.OCCC, LabelKind.PLACARD)
    load = total
    if not with_people and trip.people:
        load -= found[0][2]
    left = convert(label.capacity, label.unit, "lb") - load
    unit = trip.cargo_unit
    of = f"the label's {show(label.capacity, label.unit, places=0)}"
    what = "people and cargo" if with_people else "cargo"
    if left < 0:
        return f"{_show(-left, unit)} over {of} for {what}", True
    return f"{_show(left, unit)} left of {of} for {what}", False


def _show(pounds: Decimal, unit: str) -> str:
    return show(convert(pounds, "lb", unit), unit, places=0)
