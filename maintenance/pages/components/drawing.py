"""The wheels of a rig as a drawing, seen from above, its front at the top."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from maintenance.components.axles import axles_of
from maintenance.components.models import SPARE, TIRE_PLACES, Component
from maintenance.plans.life_list import age_words
from maintenance.vehicles.models import Rig

# x of a wheel by how many are on the axle; all in the units of the drawing.
TWO, FOUR = (30, 230), (8, 56, 204, 252)
WIDTH, HEIGHT = 40, 66
FIRST, STEP, SPARE_GAP = 30, 92, 12


@dataclass(frozen=True, slots=True)
class Wheel:
    """`code` stands in the drawing, the rest in the table beside it."""

    place: str
    words: str
    x: int
    y: int
    tire: Component | None
    age: str
    tread: str = ""  # as it was measured last, on this tire

    @property
    def middle(self) -> int:
        return self.x + WIDTH // 2

    @property
    def line(self) -> int:
        return self.y + HEIGHT // 2 + (-4 if self.tread else 5)

    @property
    def second_line(self) -> int:
        return self.y + HEIGHT // 2 + 16


@dataclass(frozen=True, slots=True)
class WheelPlan:
    wheels: list[Wheel]
    axles: list[tuple[int, int, int]]  # from x, to x, y
    height: int
    width: int = 300

    @property
    def body(self) -> int:
        """Height of the rig's outline."""
        return self.height - HEIGHT - 3 * SPARE_GAP

    @property
    def fitted(self) -> int:
        return sum(wheel.tire is not None for wheel in self.wheels)


def wheel_plan(
    rig: Rig,
    tires: Iterable[Component],
    today: date,
    treads: Mapping[str, str] | None = None,
) -> WheelPlan:
    """`treads`: place -> what its tread measured last."""
    at = {one.place: one for one in tires}
    treads = treads or {}
    wheels: list[Wheel] = []
    lines: list[tuple[int, int, int]] = []
    top = FIRST
    for axle in axles_of(rig):
        across = FOUR if len(axle.places) == 4 else TWO
        for place, x in zip(axle.places, across, strict=True):
            wheels.append(_wheel(place, x, top, at, today, treads))
        middle = top + HEIGHT // 2
        lines.append((across[0] + WIDTH, across[-1], middle))
        top += STEP
    top += SPARE_GAP
    wheels.append(_wheel(SPARE, 130, top, at, today, treads))
    return WheelPlan(wheels, lines, top + HEIGHT + SPARE_GAP)


def _wheel(  # noqa: PLR0917  what it is drawn from
    place: str,
    x: int,
    y: int,
    at: dict[str, Component],
    today: date,
    treads: Mapping[str, str],
) -> Wheel:
    tire = at.get(place)
    age = age_words(tire, today) if tire else ""
    tread = treads.get(place, "") if tire else ""
    return Wheel(place, TIRE_PLACES[place], x, y, tire, age, tread)
