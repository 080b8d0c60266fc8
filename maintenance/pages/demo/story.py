"""The demo's story as data. A day is a number, counted from the day it is told for: -4
is four days before. The files lie in `demo_fixtures`."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from .rows import (
    AmendedStory,
    FigureStory,
    LookStory,
    ManualStory,
    MergedStory,
    MoveStory,
    PartStory,
    RoundStory,
    SpotStory,
    SupplyStory,
    TicketStory,
    ToolStory,
    TroubleStory,
    UnfiledPhotoStory,
    VisitStory,
    VoidedStory,
)

T = TypeVar("T")


class StoryError(ValueError):
    """A file of the story that cannot be used: which, where in it, and why."""


@dataclass(frozen=True, kw_only=True)
class MeterStory:
    """`readings` are [day, value], `replaced` [day, old final, new start], `fuel`
    [day, value, volume in gallons, price paid]."""

    unit: str
    readings: list[list[Decimal]] = field(default_factory=list)
    fuel: list[list[Decimal]] = field(default_factory=list)
    replaced: list[list[Decimal]] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class StayStory:
    """Without `end` it is still open. `way` says how the rig stands."""

    start: int
    end: int | None = None
    planned: int | None = None
    place: str = ""
    notes: str = ""
    winterized: bool = False
    way: Mapping[str, Any] = field(default_factory=dict)
    visits: list[VisitStory] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class TripStory:
    """`noted`: the day on which a coming trip was planned; a past one at its end.
    `tows` is a car behind the rig."""

    start: int
    end: int
    title: str
    distance: Decimal | None = None
    towed_by: str = ""
    hitched: Decimal | None = None
    unhitched: Decimal | None = None
    noted: int = 0
    tows: str = ""
    about: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class DutyStory:
    start: int
    end: int
    why: str


@dataclass(frozen=True, kw_only=True)
class EventStory:
    day: int
    kind: str
    at: Mapping[str, Decimal] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class LineStory:
    """A job told apart from the plain ones: its outcome, its note, what it found."""

    key: str = ""
    title: str = ""
    outcome: str = "done"
    note: str = ""
    finding: str = ""


@dataclass(frozen=True, kw_only=True)
class WorkStory:
    """One record for each of `days`, or 30 days before each season of a kind opens.

    `rounds` names lists of procedures, of which those on the rig's plan are done;
    `done` single ones. `fixes` names the findings that it puts right, `torque` the one
    that it opens where invoice and maker's book differ. `used` are parts by number and
    price, `warranty` the day on which it ends.
    """

    name: str = ""
    by: str = ""
    days: list[int] = field(default_factory=list)
    season: str = ""
    late: int = 0
    shop: str = ""
    mobile: str = ""
    place: str = ""
    at: Mapping[str, Decimal] = field(default_factory=dict)
    rounds: list[str] = field(default_factory=list)
    done: list[str] = field(default_factory=list)
    lines: list[LineStory] = field(default_factory=list)
    wheels: Mapping[str, Any] = field(default_factory=dict)
    labor: Decimal | None = None
    parts: Decimal | None = None
    tax: Decimal | None = None
    total: Decimal | None = None
    notes: str = ""
    used: list[Mapping[str, Any]] = field(default_factory=list)
    warranty: int | None = None
    covers: str = ""
    proof: list[str] = field(default_factory=list)
    fixes: list[str] = field(default_factory=list)
    torque: str = ""


@dataclass(frozen=True, kw_only=True)
class FindingStory:
    """`plan` is the day by which it is to be put right; `shop`: on the sheet for the
    shop; `accepted`: why the household lives with it."""

    day: int
    what: str
    unfit: bool = False
    zone: str = ""
    severity: str = "soon"
    plan: int | None = None
    shop: bool = False
    accepted: str = ""


@dataclass(frozen=True, kw_only=True)
class StatedStory:
    """“Done before”, as the household remembers it."""

    day: int
    keys: list[str]


@dataclass(frozen=True, kw_only=True)
class DroppedStory:
    day: int
    keys: list[str]
    why: str


@dataclass(frozen=True, kw_only=True)
class DeferredStory:
    day: int
    key: str
    until: int
    why: str


@dataclass(frozen=True, kw_only=True)
class RigStory:
    """A rig, all that happened to it, and what of it is on paper.

    `adopted` is the day on which the household set it up in the program, `hand` the
    role of who looks after it, `leave` what the library proposes and the household did
    not take on, `life` the dates on parts from which their age counts, `axles` their
    ratings in pounds, front first.
    """

    key: str
    name: str
    kind: str
    wheels: str
    in_service: int
    adopted: int
    dual_nuts: str = ""
    make: str = ""
    model: str = ""
    photo: str = ""
    equipment: list[str]
    hand: str = "crew"
    notes: str = ""
    leave: list[str] = field(default_factory=list)
    why_left: str = ""
    life: Mapping[str, int] = field(default_factory=dict)
    meters: dict[str, MeterStory]
    stays: list[StayStory] = field(default_factory=list)
    trips: list[TripStory] = field(default_factory=list)
    duty: list[DutyStory] = field(default_factory=list)
    events: list[EventStory] = field(default_factory=list)
    works: list[WorkStory] = field(default_factory=list)
    findings: list[FindingStory] = field(default_factory=list)
    stated: list[StatedStory] = field(default_factory=list)
    dropped: list[DroppedStory] = field(default_factory=list)
    deferred: list[DeferredStory] = field(default_factory=list)
    components: list[PartStory] = field(default_factory=list)
    moves: list[MoveStory] = field(default_factory=list)
    runways: Mapping[str, Any] = field(default_factory=dict)
    axles: list[Decimal] = field(default_factory=list)
    label: Mapping[str, Any] = field(default_factory=dict)
    tickets: list[TicketStory] = field(default_factory=list)
    manuals: list[ManualStory] = field(default_factory=list)
    spots: list[SpotStory] = field(default_factory=list)
    figures: list[FigureStory] = field(default_factory=list)
    troubles: list[TroubleStory] = field(default_factory=list)
    walkrounds: list[RoundStory] = field(default_factory=list)
    amended: list[AmendedStory] = field(default_factory=list)
    voided: list[VoidedStory] = field(default_factory=list)
    merged: list[MergedStory] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class MemberStory:
    """`mail` are a member's choices of what is written to them, and when."""

    role: str
    name: str
    username: str
    email: str
    mail: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Story:
    name: str
    timezone: str
    since: int
    members: list[MemberStory]
    rounds: Mapping[str, list[str]]
    rigs: list[RigStory]
    tools: list[ToolStory]
    supplies: list[SupplyStory]
    snaps: list[UnfiledPhotoStory]
    folder: Path

    def file(self, name: str) -> bytes:
        """A photo by its name; an invoice or a manual with its folder."""
        return (self.folder / (name if "/" in name else f"photos/{name}")).read_bytes()

    def proof(self, name: str) -> bytes:
        return self.file(f"invoices/{name}" if name.endswith(".pdf") else name)


TABLES: Mapping[str, type] = {
    "trips": TripStory,
    "duty": DutyStory,
    "events": EventStory,
    "findings": FindingStory,
    "stated": StatedStory,
    "dropped": DroppedStory,
    "deferred": DeferredStory,
    "components": PartStory,
    "moves": MoveStory,
    "tickets": TicketStory,
    "manuals": ManualStory,
    "spots": SpotStory,
    "figures": FigureStory,
    "troubles": TroubleStory,
    "amended": AmendedStory,
    "voided": VoidedStory,
    "merged": MergedStory,
}
NESTED = (
    ("stays", StayStory, "visits", VisitStory),
    ("works", WorkStory, "lines", LineStory),
    ("walkrounds", RoundStory, "looks", LookStory),
)
SHED: Mapping[str, type] = {
    "tools": ToolStory,
    "supplies": SupplyStory,
    "snaps": UnfiledPhotoStory,
}


def read_story(folder: Path) -> Story:
    """The whole story. Raises StoryError, which names the file and the place."""
    data = _read(folder / "household.toml")
    members = _each(MemberStory, data.pop("members"), "household.toml: members")
    for table, kind in SHED.items():
        rows = data.get(table, [])
        data[table] = _each(kind, rows, f"household.toml: {table}")
    rigs = [_rig(key, folder) for key in data.pop("rigs")]
    rounds = _read(folder / "rounds.toml")
    return _made(
        Story,
        {**data, "members": members, "rounds": rounds, "rigs": rigs, "folder": folder},
        "household.toml",
    )


def _read(file: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"), parse_float=Decimal)
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise StoryError(f"{file.name}: {error}") from None


def _rig(key: str, folder: Path) -> RigStory:
    file = f"{key}.toml"
    data = _read(folder / file)
    for table, kind in TABLES.items():
        data[table] = _each(kind, data.get(table, []), f"{file}: {table}")
    for table, kind, inner, inner_kind in NESTED:
        rows = enumerate(data.get(table, []), 1)
        place = f"{file}: {table}"
        data[table] = [
            _nested(kind, row, f"{place} {n}", inner, inner_kind) for n, row in rows
        ]
    data["meters"] = {
        name: _made(MeterStory, row, f"{file}: meters.{name}")
        for name, row in data["meters"].items()
    }
    return _made(RigStory, {"key": key, **data}, file)


def _nested(
    kind: type[T], row: dict[str, Any], place: str, inner: str, inner_kind: type
) -> T:
    rows: list[Any] = _each(inner_kind, row.get(inner, []), f"{place}: {inner}")
    return _made(kind, {**row, inner: rows}, place)


def _each(kind: type[T], rows: Iterable[dict[str, Any]], place: str) -> list[T]:
    return [_made(kind, row, f"{place} {n}") for n, row in enumerate(rows, 1)]


def _made(kind: type[T], row: Mapping[str, Any], place: str) -> T:
    try:
        return kind(**row)
    except TypeError as error:
        raise StoryError(f"{place}: {str(error).partition('() ')[2]}") from None
