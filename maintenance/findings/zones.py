"""The zones of a walk-around, as far as a rig has them; read from `zones.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from maintenance.ui.local import emergency_number, in_country
from maintenance.vehicles.models import Rig

FILE = Path(__file__).with_name("zones.toml")


@dataclass(frozen=True, slots=True)
class Words:
    """A sentence, for some kinds of rig or for what some rigs have. Empty: for all."""

    text: str
    kinds: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Zone:
    """`answers`: procedures of the library that a full look at the zone may be."""

    key: str
    title: str
    system: str
    answers: tuple[str, ...]
    cautions: tuple[str, ...]
    look: tuple[str, ...]

    def __str__(self) -> str:
        return self.title


@dataclass(frozen=True, slots=True)
class _Entry:
    key: str
    title: str
    system: str
    answers: tuple[str, ...]
    kinds: tuple[str, ...]
    needs: tuple[str, ...]
    or_needs: tuple[str, ...]
    cautions: tuple[Words, ...]
    look: tuple[Words, ...]


def zones_of(rig: Rig) -> tuple[Zone, ...]:
    """In the order in which one goes round. What a rig has counts once it is told."""
    return tuple(_for_rig(entry, rig) for entry in entries() if _has(entry, rig))


def zone_of(rig: Rig, key: str) -> Zone | None:
    return next((zone for zone in zones_of(rig) if zone.key == key), None)


def titles() -> dict[str, str]:
    """Key -> title of every zone that any rig can have."""
    return {entry.key: entry.title for entry in entries()}


def system_of(key: str) -> str:
    """Where a finding of the zone belongs on a plan; the body, where none is named."""
    return next((one.system for one in entries() if one.key == key), "body-doors")


def whole_round() -> tuple[str, ...]:
    """Procedures that go through all zones, and are done then."""
    return tuple(_file()["whole"]["answers"])


def entries() -> tuple[_Entry, ...]:
    return _entries_for(emergency_number())


@cache
def _entries_for(number: str) -> tuple[_Entry, ...]:
    return tuple(_entry(row) for row in in_country(_file()["zone"], number))


@cache
def _file() -> dict[str, Any]:
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


def _entry(row: Mapping[str, Any]) -> _Entry:
    return _Entry(
        key=row["key"],
        title=row["title"],
        system=row["system"],
        answers=tuple(row["answers"]),
        kinds=tuple(row.get("kinds", ())),
        needs=tuple(row.get("needs", ())),
        or_needs=tuple(row.get("or_needs", ())),
        cautions=_words(row.get("cautions", ())),
        look=_words(row["look"]),
    )


def _words(rows: Any) -> tuple[Words, ...]:
    return tuple(
        Words(row["text"], tuple(row.get("kinds", ())), tuple(row.get("needs", ())))
        for row in rows
    )


def _has(entry: _Entry, rig: Rig) -> bool:
    if entry.or_needs and set(entry.or_needs) & set(rig.equipment):
        return True
    return _fits(entry.kinds, entry.needs, rig)


def _fits(kinds: tuple[str, ...], needs: tuple[str, ...], rig: Rig) -> bool:
    has_it = not needs or not rig.equipment or set(needs) & set(rig.equipment)
    return bool((not kinds or rig.kind in kinds) and has_it)


def _for_rig(entry: _Entry, rig: Rig) -> Zone:
    def texts(words: tuple[Words, ...]) -> tuple[str, ...]:
        return tuple(w.text for w in words if _fits(w.kinds, w.needs, rig))

    return Zone(
        key=entry.key,
        title=entry.title,
        system=entry.system,
        answers=entry.answers,
        cautions=texts(entry.cautions),
        look=texts(entry.look),
    )
