"""What the library holds, as plain frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.core.facts import kinds_within
from maintenance.core.measured import Comparison, Trend

# Kind of rig -> how a sentence calls it.
EVERY_KIND = {
    "motorhome": "a motorhome",
    "campervan": "a campervan",
    "travel_trailer": "a travel trailer",
    "fifth_wheel": "a fifth wheel",
    "tow_vehicle": "a tow vehicle",
    "towed_car": "a towed car",
    "toy_hauler": "a toy hauler",
    "folding_trailer": "a folding trailer",
    "truck_camper": "a truck camper",
    "tow_dolly": "a tow dolly",
}
EVERY_WHO = ("owner", "practiced_owner", "shop")
SOURCE_KINDS = ("published", "common practice", "from memory")
# When what `unfit` names makes the rig unfit to travel; what each means stands at
# `Procedure`.
UNFIT_WHEN = ("overdue", "event", "measured", "age", "finding")
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
class PlaceLimit:
    """A stricter lower limit at some wheels; `heavy`: on heavy motor vehicles alone."""

    places: tuple[str, ...]
    low: Decimal
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """A value to be measured; `per` wheel or place, else once. Limits are included.
    `short_percent`: at this share of the manufacturer's figure, or less, it is out of
    bounds."""

    name: str
    unit: str
    per: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    limits_by_place: tuple[PlaceLimit, ...] = ()
    short_percent: Decimal | None = None


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
    """What a rig can have; `phrase` is how a sentence calls it ("a generator").

    `usual`: the kinds of rig that have it unless the owner says otherwise; where it
    came or went with the years, those of the model years `usual_from` to `usual_to`.
    `hours`: the meter that counts how long it ran.
    """

    key: str
    title: str
    phrase: str
    group: str
    usual: tuple[str, ...] = ()
    usual_from: int = 0
    usual_to: int = 0
    hours: str = ""

    def is_usual(self, kind: str, year: int | None) -> bool:
        """A rig of unknown year counts as new."""
        if kind not in self.usual:
            return False
        if year is None:
            return not self.usual_to
        return year >= self.usual_from and year <= (self.usual_to or year)


@dataclass(frozen=True, slots=True)
class Procedure:
    """How one piece of upkeep is done, for which rigs, and what makes it due.

    `unfit` says what makes the rig unfit to travel, `unfit_when` by what that is known,
    each until it is put right: the work is left undone past its window (`overdue`); one
    of the events that the work follows, from that minute until it is done (`event`); a
    value past its limit, the library's or the maker's (`measured`); a part past its
    life (`age`; past `unfit_years` of it where that is later); what the work finds and
    a person says (`finding`). `not_legal`: it is a paper, without which the rig is not
    legal to drive, though sound. `comparisons` say which of the `measures` should be
    alike, `trends` what of them is asked about beside earlier ones. `renews` is one
    step: what a renewed procedure renews in turn is not followed. `needs_first` is what
    must be done before it in the same run of work. `split_from` is what it was a part
    of in an older library. `component` is the part that an item of it goes with;
    `moves` the kind of component that changes its place by the work. `per` "place": it
    is done and comes due wheel by wheel. `renewed_by` is a kind of event (a new
    generator) from which it counts as from new. `rolls`: it is about wheels or
    bearings, which turn on a car that is towed as well. `also_called` are the words in
    which people tell of the work, in small letters. `hard_water_months` is its
    interval where the water is hard. `calculators` are those of the bench whose figure
    the work needs. `runway` is what calls for it in a stay: one that runs out makes it
    due sooner, frost before the stay begins. Empty `kinds` means every kind of rig but
    `not_kinds`. `triggers` are rules whose meter is `distance`, `engine` or `generator`
    (`resolve_triggers` gives them those of a rig); none means that the work is done
    when needed. `short` is its name where space is tight, in one to three words ("Shore
    cord"); an owner's own procedure has none.
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
    short: str = ""
    cautions: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    supplies: tuple[str, ...] = ()
    safety: bool = False
    unfit: str = ""
    unfit_when: tuple[str, ...] = ()
    unfit_years: int = 0
    not_legal: bool = False
    kinds: tuple[str, ...] = ()
    not_kinds: tuple[str, ...] = ()
    equipment: tuple[str, ...] = ()
    equipment_any: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    anchored: bool = False
    once: bool = False
    baseline: str = "none"
    raises: tuple[str, ...] = ()
    renews: tuple[str, ...] = ()
    needs_first: tuple[str, ...] = ()
    split_from: str = ""
    component: OfComponent | None = None
    moves: str = ""
    calculators: tuple[str, ...] = ()
    runway: str = ""
    per: str = ""
    renewed_by: str = ""
    hard_water_months: int = 0

    @property
    def by_shop(self) -> bool:
        return self.who == "shop"

    rolls: bool = False
    also_called: tuple[str, ...] = ()
    measures: tuple[Measure, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    trends: tuple[Trend, ...] = ()

    def suits(self, kind: str) -> bool:
        """Whether it is for this kind of rig."""
        return kind not in self.not_kinds and (not self.kinds or kind in self.kinds)

    def follows(self, event: str) -> bool:
        """Whether this kind of event makes it due."""
        after = (rule.get("after", {}) for rule in self.triggers)
        return any(event in kinds_within(one.get("event", "")) for one in after)

    @property
    def unfit_when_overdue(self) -> bool:
        return "overdue" in self.unfit_when


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that procedures need and an owner has to find; `often` says where it
    usually is. Empty `equipment_any`: every rig has it."""

    key: str
    title: str
    often: str
    procedures: tuple[str, ...]
    equipment_any: tuple[str, ...] = ()


# When on a trip the looks of a stop are taken; "lap": one after the other, last before
# driving off.
LAP_WHEN = ("days_before", "lap", "first_stop", "camp")


@dataclass(frozen=True, slots=True)
class LapLook:
    """What is looked at before a departure, in one sentence; `minutes` of the look, not
    of the whole work. `always`: also where it is not on the plan of the rig.
    `that_day`: a night can change it, so that yesterday's does not count. `together`:
    it is one look at all rigs that travel, and its minutes count once. `with_steps`:
    its steps stand on the sheet, too."""

    procedure: str
    minutes: int
    look: str = ""
    always: bool = False
    that_day: bool = False
    together: bool = False
    with_steps: bool = False


@dataclass(frozen=True, slots=True)
class LapStop:
    """A place on the rig or a moment at which looks are taken, in their order."""

    title: str
    when: str
    looks: tuple[LapLook, ...]


STAY_WHEN = ("entry", "exit")


@dataclass(frozen=True, slots=True)
class StayPlace:
    """Where on a rig work of the start (`entry`) or end (`exit`) of a stay is done."""

    title: str
    when: str
    procedures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class System:
    """`place`: where on a rig it is (`PLACES` of `ui/drawings.py`); "": nowhere."""

    key: str
    title: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    on: date
    text: str


@dataclass(frozen=True, slots=True)
class Library:
    """`version` is the date of the newest change; `changes` run newest first; `lap` has
    every procedure that is due before a trip, once, in the order of the walk;
    `stay` likewise those of a stay's start and end, by the place of the work."""

    version: str
    changes: tuple[Change, ...]
    systems: Mapping[str, System]
    equipment: Mapping[str, Equipment]
    procedures: Mapping[str, Procedure]
    spots: Mapping[str, Spot]
    lap: tuple[LapStop, ...] = ()
    stay: tuple[StayPlace, ...] = ()
