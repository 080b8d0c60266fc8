"""What a kind of trigger is: how it reads and writes, when it falls due, how often."""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import ClassVar, Literal, Self, cast

from maintenance.core.facts import Item, Runway, Span, Trigger, Unit
from maintenance.core.fields import Fields
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.windows import History, WindowResult

DAYS = Decimal("365.25")  # of a year, as the Julian year has them
NEVER = Decimal(0)
Units = Mapping[str, Unit]  # meter name -> its unit


@dataclass(frozen=True, slots=True)
class YearOfUse:
    """A year of a rig: what each meter counts in it, in the meter's unit, the days of
    its one stay, and its trips."""

    units: Mapping[str, str]
    counts: Mapping[str, Decimal] = field(default_factory=dict)
    stored_days: int = 150
    trips: int = 4


class Kind(Trigger, ABC):
    """A trigger of one kind: a frozen dataclass in a module of `kinds/`, all that the
    core knows of the kind.

    `key` is the name under which it stands in plain data, and that of its windows, at
    most 16 characters. Kinds that share a key are told apart by `told_by`, the keys
    below it. `beside`: keys that may stand beside it.

    `hangs_on` says what brings it on: "work" counts on from the work done last, "age"
    from a date on the part; an "occasion" comes each year by itself; an "event" is
    something that happened.
    """

    __slots__ = ()
    key: ClassVar[str]
    told_by: ClassVar[tuple[str, ...]] = ()
    beside: ClassVar[tuple[str, ...]] = ()
    hangs_on: ClassVar[Literal["work", "age", "occasion", "event"]]

    @classmethod
    @abstractmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        """Read it from plain data; `units` are the rig's meters, where they are known.
        Raises `FactError`."""

    @abstractmethod
    def to_data(self) -> dict[str, object]:
        """The form that `parse` reads; what is not given is left out."""

    @abstractmethod
    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        """Its open windows, or what it lacks, or why it asks nothing."""

    @abstractmethod
    def times_a_year(self, year: YearOfUse) -> Decimal:
        """How often a year it asks for the work."""

    # --- what only some kinds have ----------------------------------------------------

    def implausible(self) -> str | None:
        """Why no piece of upkeep is like that, as a half sentence; None: it may be.
        The bounds are our own, wide on purpose: they catch a slip, not an opinion."""
        return None

    def counted_on(self) -> tuple[str, Unit] | None:
        """The meter it counts on, and the unit of its own figures."""
        return None

    def value_interval(self) -> tuple[str, Decimal, Unit] | None:
        """After how much on which meter it comes round, and in what unit."""
        return None

    def time_interval(self) -> Span | None:
        """After how long it comes round, or ends."""
        return None

    def follows(self) -> str | None:
        """The kind of event that it follows."""
        return None

    def stated_day(self) -> date | None:
        """A day on which something is stated to have been: it cannot lie ahead."""
        return None

    def turns(self, day: RigTimeline) -> Iterable[date]:
        """Days on which it may ask for something else though nothing is entered, beside
        the edges of its windows and what begins and ends with stays and trips."""
        return ()

    def in_stay(self, runway: Runway) -> "Kind":
        """The same in a stay that asks for more."""
        del runway
        return self


def kinds_of(item: Item) -> tuple[Kind, ...]:
    """The triggers of an item, with all that they can do."""
    return cast(tuple[Kind, ...], item.triggers)
