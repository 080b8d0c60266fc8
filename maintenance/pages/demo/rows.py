"""The rows of the story that tell of things: parts, fuel, what is read and weighed, the
shelf. Days are numbers, as in `story`; `about` are plain columns of the row made."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

COUNTS = {"seats", "people", "label_years", "humidity", "damp", "traps", "cycles"}


def columns(about: Mapping[str, Any]) -> dict[str, Any]:
    """As the services take them: measures are exact, counts stay whole numbers."""
    return {
        name: Decimal(value) if type(value) is int and name not in COUNTS else value
        for name, value in about.items()
    }


@dataclass(frozen=True, kw_only=True)
class PartStory:
    """One part, or one at each of `places`. `week` is a day of the week in which a tire
    was made, for its number; `made` and `tested` are days of months on a label. `key`
    is the name by which a rig that it moved to knows it."""

    day: int
    kind: str
    type: str = ""
    key: str = ""
    keys: list[str] = field(default_factory=list)
    place: str = ""
    places: list[str] = field(default_factory=list)
    serial: str = ""
    week: int | None = None
    made: int | None = None
    tested: int | None = None
    at: Mapping[str, Decimal] = field(default_factory=dict)
    about: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class MoveStory:
    day: int
    part: str
    place: str = ""


@dataclass(frozen=True, kw_only=True)
class VisitStory:
    """A look at a stored rig."""

    day: int
    about: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class TicketStory:
    day: int
    trailer: str = ""
    about: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class ManualStory:
    """A file of the folder `manuals` (a book) or `photos` (a placard); `notes` are
    [page, words]."""

    day: int
    title: str
    file: str
    about: str = ""
    notes: list[list[Any]] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class SpotStory:
    day: int
    name: str
    words: str
    photo: str = ""


@dataclass(frozen=True, kw_only=True)
class ToolStory:
    day: int
    kind: str
    name: str
    calibrated: int | None = None
    about: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class SupplyStory:
    name: str
    about: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class UnfiledPhotoStory:
    """A photo that nobody has filed yet."""

    day: int
    photo: str
    rig: str = ""


@dataclass(frozen=True, kw_only=True)
class FigureStory:
    """A figure kept from the bench: what was typed into which calculator."""

    day: int
    calculator: str
    typed: Mapping[str, str]
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class TroubleStory:
    """What came of a guide: the ending by its key, the answers that led there."""

    day: int
    guide: str
    ending: str
    path: str
    was_it: bool = True


@dataclass(frozen=True, kw_only=True)
class LookStory:
    """At one zone: as last time, or what was seen, found and photographed."""

    zone: str
    words: str = ""
    photo: str = ""
    wrong: str = ""
    severity: str = "soon"

    @property
    def same(self) -> bool:
        return not (self.words or self.photo or self.wrong)


@dataclass(frozen=True, kw_only=True)
class RoundStory:
    day: int
    finished: bool = True
    looks: list[LookStory] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class AmendedStory:
    """A record, by its name, put right afterwards: plain columns, with the reason."""

    work: str
    why: str
    about: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class VoidedStory:
    work: str
    why: str


@dataclass(frozen=True, kw_only=True)
class MergedStory:
    work: str
    into: str
