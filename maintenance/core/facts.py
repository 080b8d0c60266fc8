"""The plain values that the reckoning takes in and gives back.

Days are `date` in the household's time zone. Meter values are `Decimal` in the unit of
their meter (`mi`, `km` or `h`), as the meter showed them on that day.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal

Unit = Literal["mi", "km", "h"]
StandingName = Literal[
    "overdue", "due", "unknown", "waiting", "soon", "later", "settled"
]
TriggerKind = str  # what a kind of trigger calls its windows
Outcome = Literal["done", "serviceable", "held", "moved", "fault_found", "not_done"]
Values = Mapping[str, Decimal]  # meter name -> value
# What else may stand among the values of what happened to a rig on the road: what the
# odometer of its tow vehicle showed then; that it was after unhitching (1).
TOW_ODOMETER, UNHITCHED = "tow_odometer", "unhitched"
ON_THE_ROAD = frozenset({TOW_ODOMETER, UNHITCHED})
# What a rig with an odometer that is also towed has rolled on its wheels.
ODOMETER, TOWED, WHEEL_DISTANCE = "odometer", "towed", "wheel_distance"


class FactError(ValueError):
    """A fact that cannot be used; `place` says where it stands in the input."""

    def __init__(self, place: str, problem: str) -> None:
        super().__init__(f"{place}: {problem}")
        self.place = place
        self.problem = problem


# --- what goes in -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Calendar:
    """The household's calendar. Season ends are (month, day), both days included."""

    timezone: str = "America/Denver"
    horizon_days: int = 30
    spring: tuple[tuple[int, int], tuple[int, int]] = ((3, 15), (5, 31))
    autumn: tuple[tuple[int, int], tuple[int, int]] = ((9, 15), (11, 30))


@dataclass(frozen=True, slots=True)
class Reading:
    """`fact`: what it was read for ("": the reading alone). Of one day and one fact the
    last entered corrects the others; readings of different facts stand side by side.
    """

    on: date
    value: Decimal
    confirmed: bool = False
    fact: str = ""


@dataclass(frozen=True, slots=True)
class Replacement:
    on: date
    old_final: Decimal
    new_start: Decimal


@dataclass(frozen=True, slots=True)
class Run:
    """Hours for which a generator ran on a day."""

    on: date
    hours: Decimal


@dataclass(frozen=True, slots=True)
class Meter:
    """`readings` in the order in which they were entered; `taken_back` are those that
    somebody withdrew, or keeps as questionable: no figure of work or an event counts
    that says the same.
    `fitted`: the day and value of a meter that was fitted to what was counted without
    one, by trips or by `runs`, and counts from then on. `runs`: the log of what had no
    hour meter (None: it always had one).
    """

    unit: Unit
    readings: tuple[Reading, ...] = ()
    replaced: tuple[Replacement, ...] = ()
    taken_back: tuple[Reading, ...] = ()
    fitted: Reading | None = None
    runs: tuple[Run, ...] | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """`until` is the day the stay ended; `None` while it is open or only planned.
    `freezes`: frost is expected, and water stands in the rig."""

    start: date
    until: date | None = None
    planned_until: date | None = None
    winterized: bool = False
    freezes: bool = False


@dataclass(frozen=True, slots=True)
class Trip:
    """`odometer` is the span that the tow vehicle `tow` drove while hitched (of a trip
    under way, so far), with `off` of it unhitched, both in `odometer_unit`.

    `distance` of a trip that is over was told by hand, of one under way it is the plan;
    `planned`: it is still the plan, since nobody told how the trip went. `told`: days
    with the distance so far, in `unit`, as entered on the way. `only_towed`: it counts
    on towed distance, not on the rig's own odometer.
    """

    start: date
    end: date
    distance: Decimal | None = None
    unit: Unit = "mi"
    tow: str = ""
    odometer: tuple[Decimal, Decimal] | None = None
    odometer_unit: Unit = "mi"
    only_towed: bool = False
    off: Decimal = Decimal(0)
    told: tuple[tuple[date, Decimal], ...] = ()
    planned: bool = False


@dataclass(frozen=True, slots=True)
class TowVehicle:
    """The odometer of a vehicle that tows, and its own stays."""

    odometer: Meter
    stays: tuple[Stay, ...] = ()


@dataclass(frozen=True, slots=True)
class NotTowed:
    """Somebody said on a day that the rig was not towed since another."""

    said_on: date
    since: date


@dataclass(frozen=True, slots=True)
class Duty:
    """Severe duty from `start` to `end` (`None`: still on), both included."""

    start: date
    end: date | None = None


# A kind of event -> the wider kind that it is, too: what follows that one, follows it.
WIDER_KINDS = {
    "chassis_battery_replaced": "battery_replaced",
    "house_battery_replaced": "battery_replaced",
}


def kinds_within(kind: str) -> frozenset[str]:
    """An event of one of these kinds is one of `kind`."""
    narrower = {one for one, wider in WIDER_KINDS.items() if wider == kind}
    return frozenset({kind, *narrower})


@dataclass(frozen=True, slots=True)
class Event:
    kind: str
    on: date
    values: Values = field(default_factory=dict)
    places: frozenset[str] | None = None  # None: all places


@dataclass(frozen=True, slots=True)
class Carry:
    """What a part had behind it since its work when it came to this rig on `on`.

    `values` is what this rig's meters showed then; `used` is by their names and in
    their units. A meter left out: not known.
    """

    on: date
    values: Values = field(default_factory=dict)
    used: Values = field(default_factory=dict)
    days_in_use: int = 0


@dataclass(frozen=True, slots=True)
class Completion:
    """Work done on `on`, or between `on` and `until` when the day is not known.

    With `carried` it was done before the part came to this rig; it has no values of its
    own then.
    """

    on: date
    until: date | None = None
    values: Values = field(default_factory=dict)
    outcome: Outcome = "done"
    places: frozenset[str] | None = None  # None: all places
    carried: Carry | None = None


@dataclass(frozen=True, slots=True)
class Baseline:
    on: date
    values: Values = field(default_factory=dict)
    carried: Carry | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A length of time: days, or calendar months (a year is 12 months)."""

    days: int = 0
    months: int = 0


@dataclass(frozen=True, slots=True)
class Runway:
    """How long it lasts in the open stay: `days` after the work, and by the reading of
    `read_on`, while no work is on a later day, `read_days` from then."""

    days: int
    read_on: date | None = None
    read_days: int = 0


class Trigger:
    """A rule that says when an item is due; what it can do stands in
    `core/triggers/kind.py`, each kind of it in `core/triggers/kinds/`."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Item:
    """`per_place`: each place of the rig is reckoned as an item of its own, where the
    rig has places. `renewed_by`: a kind of event (a new generator) from which it counts
    as from new; one before `fitted_on`, when the unit came to the rig, renewed another
    unit."""

    key: str
    triggers: tuple[Trigger, ...]
    done: tuple[Completion, ...] = ()
    baseline: Baseline | Literal["in_service"] | None = None
    taken_on: date | None = None
    anchored: bool = False
    once: bool = False
    safety: bool = False
    unfit: bool = False  # overdue, it makes the rig unfit to travel
    unfit_on_event: bool = False  # from an event that it follows until it is done
    unfit_years: int | None = None  # past its life and this age; None: by no age
    paper: bool = False  # overdue, the rig is not legal to drive
    per_place: bool = False
    renewed_by: str = ""
    fitted_on: date | None = None


@dataclass(frozen=True, slots=True)
class Rig:
    meters: Mapping[str, Meter]
    items: tuple[Item, ...]
    in_service: Baseline | None = None
    duty: tuple[Duty, ...] = ()
    stays: tuple[Stay, ...] = ()
    trips: tuple[Trip, ...] = ()
    events: tuple[Event, ...] = ()
    tow_vehicles: Mapping[str, TowVehicle] = field(default_factory=dict)
    not_towed: tuple[NotTowed, ...] = ()
    places: tuple[str, ...] = ()

    @property
    def units(self) -> dict[str, Unit]:
        """The unit of each meter that a rule may count on."""
        found = {name: meter.unit for name, meter in self.meters.items()}
        if ODOMETER in found and TOWED in found:
            found.setdefault(WHEEL_DISTANCE, found[ODOMETER])
        return found


@dataclass(frozen=True, slots=True)
class KeptHabit:
    """What was once learned of a meter's past, as JSON text, and the digest of all that
    it was learned from. It may be handed in again: it changes no result, and one whose
    key does not fit is left aside."""

    key: str
    learned: str


# --- what comes out -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MeterPoint:
    """A value as the meter shows it."""

    meter: str
    value: Decimal


Point = date | MeterPoint


@dataclass(frozen=True, slots=True)
class Window:
    opens: Point
    closes: Point


@dataclass(frozen=True, slots=True)
class Pending:
    """An unsatisfied window; `places` only for a follow-up (None: all places) and for
    an item per place."""

    kind: TriggerKind
    window: Window
    places: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Dates:
    """The days by which something is reached with 10, 50 and 90 % confidence.

    None: not within 15 years as things stand.
    """

    early: date | None
    likely: date | None
    late: date | None


@dataclass(frozen=True, slots=True)
class WindowDates:
    opens: Dates
    closes: Dates


FactValue = str | int | date | Decimal | tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact behind a standing: a key that the shell words, and its values."""

    key: str
    values: Mapping[str, FactValue]


@dataclass(frozen=True, slots=True)
class Standing:
    """`unfit_by`: by what it makes the rig unfit to travel (`core/fitness.py`); empty:
    by nothing. `not_legal`: without it the rig is not legal to drive.
    `changes_on`: the first day on which it may be another though nothing is entered;
    `date.max` for never. It is no part of what the standing says."""

    key: str
    standing: StandingName
    governing: TriggerKind | None = None
    expected: bool = False
    window: Window | None = None
    pending: tuple[Pending, ...] = ()
    forecast: WindowDates | None = None
    why: tuple[Fact, ...] = ()
    unfit_by: str = ""
    not_legal: bool = False
    changes_on: date = field(default=date.max, compare=False)


@dataclass(frozen=True, slots=True)
class MeterState:
    """`known` is the last good value as shown, `known_on` its day; None without.
    `told_by`: it has no readings; its `trips` or its logged `runs` tell it. `on_day`
    gives the value of a day as the meter fitted now shows it; None where nothing tells
    it."""

    unit: Unit
    known: Decimal | None
    known_on: date | None
    doubtful: tuple[Reading, ...] = ()
    told_by: Literal["", "trips", "runs"] = ""
    on_day: Callable[[date], Decimal | None] = field(
        default=lambda _day: None, compare=False, repr=False
    )


@dataclass(frozen=True, slots=True)
class Reckoning:
    """`habits`: by meter, those that the forecasts rest on, to be handed in again."""

    as_of: date
    meters: Mapping[str, MeterState]
    items: tuple[Standing, ...]
    habits: Mapping[str, KeptHabit] = field(default_factory=dict)
