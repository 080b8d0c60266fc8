"""Where what a procedure needs is on this rig, as far as it was told."""

from dataclasses import dataclass

from maintenance.library.model import Spot as LibrarySpot
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem
from maintenance.vehicles.manuals import spots_of
from maintenance.vehicles.models import Rig, Spot


@dataclass(frozen=True, slots=True)
class SpotLine:
    """A place of the library, and what is told of it on the rig, if anything."""

    spot: LibrarySpot
    told: Spot | None


def spots_for(item: PlanItem) -> list[SpotLine]:
    """The places that the item's procedure needs and the rig can have."""
    return _lines(item.rig, {item.key})


def spots_on(rig: Rig) -> list[SpotLine]:
    """The places that anything on the rig's plan needs."""
    on_plan = rig.plan_items.filter(dropped_on__isnull=True)
    return _lines(rig, set(on_plan.values_list("key", flat=True)))


def _lines(rig: Rig, keys: set[str]) -> list[SpotLine]:
    wanted = [
        spot
        for spot in load_library().spots.values()
        if not keys.isdisjoint(spot.procedures) and _can_be_on(rig, spot)
    ]
    told = spots_of(rig) if wanted else {}
    return [SpotLine(spot, told.get(spot.key)) for spot in wanted]


def _can_be_on(rig: Rig, spot: LibrarySpot) -> bool:
    any_of = spot.equipment_any
    return not any_of or any(key in rig.equipment for key in any_of)
