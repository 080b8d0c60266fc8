"""The demo's story as data. A day is a number, counted from the day it is told for: -4
is four days before. The files lie in `demo_fixtures`."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

T = TypeVar("T")


class StoryError(ValueError):
    """A file of the story that cannot be used: which, where in it, and why."""


@dataclass(frozen=True, kw_only=True)
class MeterStory:
    """`readings` are [day, value], `replaced` [day, old final, new start]."""

    unit: str
    readings: list[list[Decimal]] = field(default_factory=list)
    replaced: list[list[Decimal]] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class StayStory:
    """Without `end` it is still open."""

    start: int
    end: int | None = None
    planned: int | None = None
    place: str = ""
    notes: str = ""
    winterized: bool = False


@dataclass(frozen=True, kw_only=True)
class TripStory:
    """`noted`: the day on which a coming trip was planned; a past one at its end."""

    start: int
    end: int
    title: str
    distance: Decimal | None = None
    towed_by: str = ""
    hitched: Decimal | None = None
    unhitched: Decimal | None = None
    noted: int = 0


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
    `done` single ones. `fixes` names the findings that it puts right.
    """

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
    proof: list[str] = field(default_factory=list)
    fixes: list[str] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class FindingStory:
    day: int
    what: str
    unfit: bool = False


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
    not take on, `life` the dates on parts from which their age counts.
    """

    key: str
    name: str
    kind: str
    wheels: str
    in_service: int
    adopted: int
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


@dataclass(frozen=True, kw_only=True)
class MemberStory:
    role: str
    name: str
    username: str
    email: str


@dataclass(frozen=True, kw_only=True)
class Story:
    name: str
    timezone: str
    since: int
    members: list[MemberStory]
    rounds: Mapping[str, list[str]]
    rigs: list[RigStory]
    folder: Path

    def proof(self, name: str) -> bytes:
        folder = "invoices" if name.endswith(".pdf") else "photos"
        return (self.folder / folder / name).read_bytes()


TABLES: Mapping[str, type] = {
    "stays": StayStory,
    "trips": TripStory,
    "duty": DutyStory,
    "events": EventStory,
    "findings": FindingStory,
    "stated": StatedStory,
    "dropped": DroppedStory,
    "deferred": DeferredStory,
}


def read_story(folder: Path) -> Story:
    """The whole story. Raises StoryError, which names the file and the place."""
    data = _read(folder / "household.toml")
    members = _each(MemberStory, data.pop("members"), "household.toml: members")
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
    data["works"] = [
        _work(row, f"{file}: works {n}") for n, row in enumerate(data["works"], 1)
    ]
    data["meters"] = {
        name: _made(MeterStory, row, f"{file}: meters.{name}")
        for name, row in data["meters"].items()
    }
    return _made(RigStory, {"key": key, **data}, file)


def _work(row: dict[str, Any], place: str) -> WorkStory:
    lines = _each(LineStory, row.get("lines", []), f"{place}: lines")
    return _made(WorkStory, {**row, "lines": lines}, place)


def _each(kind: type[T], rows: Iterable[dict[str, Any]], place: str) -> list[T]:
    return [_made(kind, row, f"{place} {n}") for n, row in enumerate(rows, 1)]


def _made(kind: type[T], row: Mapping[str, Any], place: str) -> T:
    try:
        return kind(**row)
    except TypeError as error:
        raise StoryError(f"{place}: {str(error).partition('() ')[2]}") from None
