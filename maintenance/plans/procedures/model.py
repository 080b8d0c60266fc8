"""What the library holds, as plain frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

# Kind of rig -> how a sentence calls it.
EVERY_KIND = {
    "motorhome": "a motorhome",
    "campervan": "a campervan",
    "travel_trailer": "a travel trailer",
    "fifth_wheel": "a fifth wheel",
    "tow_vehicle": "a tow vehicle",
    "towed_car": "a towed car",
}
EVERY_WHO = ("owner", "practiced_owner", "shop")
SOURCE_KINDS = ("published", "common practice", "from memory")
MEASURE_PLACES = ("wheel", "place")
MEASURE_UNITS = (
    "ft·lbf",
    "in·lbf",
    "psi",
    "psi/min",
    "in w.c.",
    "1/32 in",
    "in",
    "lb",
    "°F",
    "V",
    "A",
    "W",
    "Hz",
    "Ω",
    "%",
    "h",
    "min",
    "s",
    "gal",
    "fl oz",
    "ppm",
    "pH",
)

# A trigger in the form of a case file.
Rule = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from; `of` says which: "interval", a measure, "steps"."""

    of: str
    kind: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class Measure:
    """A value to be measured; `per` wheel or place, else once. Limits are included."""

    name: str
    unit: str
    per: str = ""
    low: Decimal | None = None
    high: Decimal | None = None


# Which of a component's dates a rule may count from -> the kind of component that has
# them; "": any. What each means stands at `OfComponent`.
COMPONENT_DATES = {
    "made": "",
    "alarm": "alarm",
    "collar": "cylinder",
    "tested": "extinguisher",
    "emptied": "extinguisher",
}


@dataclass(frozen=True, slots=True)
class OfComponent:
    """The component that an item belongs to: its kind, and its types (none: any type).

    `usual`: ticked from the start where such a component is entered. `dates` says from
    when the item counts: `made` (as long as the label says), `alarm` (made, for as long
    as such an alarm lives), `collar` (the last mark on a cylinder's collar), `tested`
    (else made), `emptied` (the last of made, tested and recharged).
    """

    kind: str
    types: tuple[str, ...] = ()
    usual: bool = False
    dates: str = "made"

    def fits(self, kind: str, type_: str) -> bool:
        return self.kind == kind and (not self.types or type_ in self.types)


@dataclass(frozen=True, slots=True)
class Equipment:
    """What a rig can have; `phrase` is how a sentence calls it ("a generator")."""

    key: str
    title: str
    phrase: str
    group: str
    usual: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Procedure:
    """How one piece of upkeep is done, for which rigs, and what makes it due.

    `unfit` says what, when it is found, makes the rig unfit to travel;
    `unfit_when_overdue` that leaving the work undone does so too. `renews` is one
    step: what a renewed procedure renews in turn is not followed. `needs_first` is what
    must be done before it in the same run of work. `component` is the part that an item
    of it goes with; `moves` the kind of component that changes its place by the work.
    `calculators` are those of the bench whose figure the work needs. `runway` is what
    calls for it in a stay: one that runs out makes it due sooner, frost before the stay
    begins. `lap` is its place in the lap of a departure, whose steps stand on the trip
    sheet (0: none); `on_the_way`: done at the first stop. `per` "place": it is done and
    comes due wheel by wheel. `renewed_by` is a kind of event (a new generator) from
    which it counts as from new. Empty `kinds` means every
    kind of rig. `triggers` are rules whose meter is `distance`, `engine` or `generator`
    (`resolve_triggers` gives them those of a rig); none means that the work is done
    when needed.
    """

    key: str
    system: str
    title: str
    why: str
    who: str
    minutes: int
    steps: tuple[str, ...]
    triggers: tuple[Rule, ...]
    sources: tuple[Source, ...]
    cautions: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    supplies: tuple[str, ...] = ()
    safety: bool = False
    unfit: str = ""
    unfit_when_overdue: bool = False
    kinds: tuple[str, ...] = ()
    equipment: tuple[str, ...] = ()
    equipment_any: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    anchored: bool = False
    once: bool = False
    baseline: str = "none"
    raises: tuple[str, ...] = ()
    renews: tuple[str, ...] = ()
    needs_first: tuple[str, ...] = ()
    component: OfComponent | None = None
    moves: str = ""
    calculators: tuple[str, ...] = ()
    runway: str = ""
    lap: int = 0
    on_the_way: bool = False
    per: str = ""
    renewed_by: str = ""
    measures: tuple[Measure, ...] = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that procedures need and an owner has to find; `often` says where it
    usually is. Empty `equipment_any`: every rig has it."""

    key: str
    title: str
    often: str
    procedures: tuple[str, ...]
    equipment_any: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class System:
    key: str
    title: str


@dataclass(frozen=True, slots=True)
class Change:
    on: date
    text: str


@dataclass(frozen=True, slots=True)
class Library:
    """`version` is the date of the newest change; `changes` run newest first."""

    version: str
    changes: tuple[Change, ...]
    systems: Mapping[str, System]
    equipment: Mapping[str, Equipment]
    procedures: Mapping[str, Procedure]
    spots: Mapping[str, Spot]
