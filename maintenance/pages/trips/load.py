"""What the trip's load weighs: people, water and cargo as they were planned."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from maintenance.core.bench.cargo import SEAT, fluid_weight
from maintenance.core.units import convert, show
from maintenance.vehicles.models import Trip


@dataclass(frozen=True, slots=True)
class Load:
    """In lb; `parts` says what it is made of, each as people read it."""

    total: Decimal
    parts: list[tuple[str, str]]
    unit: str

    @property
    def shown(self) -> str:
        return show(convert(self.total, "lb", self.unit), self.unit, places=0)


def load_of(trip: Trip) -> Load | None:
    """None where nothing was said of it. People weigh 150 lb each (49 CFR 567.4),
    water 8.3 lb a gallon (the label rule of FMVSS 110 and 120)."""
    unit = trip.cargo_unit
    found: list[tuple[str, str, Decimal]] = []
    if trip.people:
        weight = trip.people * SEAT
        found.append((_("People"), f"{trip.people} of {_show(SEAT, unit)}", weight))
    if trip.water is not None:
        gallons = convert(trip.water, trip.water_unit, "gal")
        water = fluid_weight(gallons, "water").value
        found.append((_("Fresh water"), show(trip.water, trip.water_unit), water))
    if trip.cargo is not None:
        cargo = convert(trip.cargo, trip.cargo_unit, "lb")
        found.append((_("Cargo"), show(trip.cargo, trip.cargo_unit), cargo))
    if not found:
        return None
    total = sum((weight for *_said, weight in found), Decimal(0))
    parts = [(name, f"{said} = {_show(w, unit)}") for name, said, w in found]
    return Load(total, parts, unit)


def _show(pounds: Decimal, unit: str) -> str:
    return show(convert(pounds, "lb", unit), unit, places=0)
