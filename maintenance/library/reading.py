"""Library files read into plain values, and checked."""

import functools
import tomllib
from collections.abc import Callable, Collection, Iterator
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from maintenance.core.facts import FactError
from maintenance.core.fields import Fields, as_choice, as_day, as_list, as_text
from maintenance.library import checks
from maintenance.library.entries import (
    read_equipment,
    read_procedure,
    read_spot,
    read_stay_place,
    read_stop,
)
from maintenance.library.errors import LibraryError, naming
from maintenance.library.model import (
    Change,
    Equipment,
    Library,
    Procedure,
    Spot,
    System,
)
from maintenance.ui.drawings import PLACES
from maintenance.ui.local import EMERGENCY, HOME, emergency_number, in_country

Place = TypeVar("Place")

FOLDER = Path(__file__).parent / "data"
LIBRARY_FILE = "library.toml"
EQUIPMENT_FILE = "equipment.toml"
SPOTS_FILE = "spots.toml"
LAP_FILE = "lap.toml"
STAY_FILE = "stay.toml"
NO_SYSTEMS = (LIBRARY_FILE, EQUIPMENT_FILE, SPOTS_FILE, LAP_FILE, STAY_FILE)


def load_library() -> Library:
    """The library of the program, read once, with the number to call of the country
    that is spoken to.

    Raises LibraryError, naming file, key and field, also where a figure has no source.
    """
    return _library_for(emergency_number())


@functools.cache
def _library_for(number: str) -> Library:
    if number != EMERGENCY[HOME]:
        library: Library = in_country(_library_for(EMERGENCY[HOME]), number)
        return library
    library = read_library(FOLDER)
    checks.refuse_unsourced(library)
    return library


def read_library(folder: Path) -> Library:
    """All library files of a folder. Figures may still lack their source."""
    changes = _read_changes(folder / LIBRARY_FILE)
    equipment = _read_all_equipment(folder / EQUIPMENT_FILE)
    systems: dict[str, System] = {}
    procedures: dict[str, Procedure] = {}
    for path in sorted(folder.glob("*.toml")):
        if path.name not in NO_SYSTEMS:
            system, found = _read_system(path, equipment.keys(), procedures.keys())
            systems[system.key] = system
            procedures.update({one.key: one for one in found})
    version = changes[0].on.isoformat()
    spots = _read_all_spots(folder / SPOTS_FILE, equipment.keys())
    lap = _read_places(folder / LAP_FILE, "stop", read_stop)
    stay = _read_places(folder / STAY_FILE, "place", read_stay_place)
    library = Library(
        version, changes, systems, equipment, procedures, spots, lap, stay
    )
    checks.refuse_broken_links(library)
    return library


def _load(path: Path) -> Fields:
    try:
        text = path.read_text(encoding="utf-8")
        return Fields(tomllib.loads(text, parse_float=Decimal), "")
    except OSError as problem:
        raise LibraryError(path.name, "", "", f"{problem.strerror}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise LibraryError(path.name, "", "", f"is not valid TOML: {problem}") from None


def _rows(
    file: Fields, field: str, taken: Collection[str]
) -> Iterator[tuple[str, object]]:
    """The tables of a list, each with its own key."""
    seen = set(taken)
    for number, row in enumerate(as_list(file.take(field), field), start=1):
        place = f"{field}[{number}]"
        key = as_text(Fields(row, place).take("key"), f"{place}.key")
        if not checks.KEY.fullmatch(key):
            raise FactError(f"{place}.key", f'"{key}" must look like two_words')
        if key in seen:
            raise FactError(f"{place}.key", f'"{key}" is taken already')
        seen.add(key)
        yield key, row


def _read_changes(path: Path) -> tuple[Change, ...]:
    with naming(path.name):
        file = _load(path)
        version = as_text(file.take("version"), "version")
        rows = as_list(file.take("change"), "change")
        file.finish()
        changes = tuple(_read_change(row, f"change[{i}]") for i, row in enumerate(rows))
        if list(changes) != sorted(changes, key=lambda one: one.on, reverse=True):
            raise FactError("change", "must run from newest to oldest")
        if not changes or version != changes[0].on.isoformat():
            raise FactError("version", "must be the date of the newest change")
    return changes


def _read_change(row: object, place: str) -> Change:
    fields = Fields(row, place)
    change = Change(
        on=as_day(fields.take("on"), fields.at("on")),
        text=as_text(fields.take("text"), fields.at("text")),
    )
    fields.finish()
    return change


def _read_all_equipment(path: Path) -> dict[str, Equipment]:
    found: dict[str, Equipment] = {}
    with naming(path.name):
        file = _load(path)
        for key, row in _rows(file, "equipment", ()):
            with naming(path.name, key):
                found[key] = read_equipment(row)
        file.finish()
    return found


def _read_all_spots(path: Path, equipment: Collection[str]) -> dict[str, Spot]:
    found: dict[str, Spot] = {}
    with naming(path.name):
        file = _load(path)
        for key, row in _rows(file, "spot", ()):
            with naming(path.name, key):
                found[key] = read_spot(row, equipment)
        file.finish()
    return found


def _read_places(
    path: Path, field: str, read: Callable[[object], Place]
) -> tuple[Place, ...]:
    with naming(path.name):
        file = _load(path)
        rows = as_list(file.take(field), field)
        file.finish()
        found = []
        for number, row in enumerate(rows, start=1):
            with naming(path.name, f"{field} {number}"):
                found.append(read(row))
    return tuple(found)


def _place(file: Fields) -> str:
    if not file.has("place"):
        return ""
    return as_choice(file.get("place"), "place", PLACES)


def _read_system(
    path: Path, equipment: Collection[str], taken: Collection[str]
) -> tuple[System, list[Procedure]]:
    found = []
    with naming(path.name):
        file = _load(path)
        key = as_text(file.take("system"), "system")
        if key != path.stem:
            raise FactError("system", f'must be the name of the file, "{path.stem}"')
        title = as_text(file.take("title"), "title")
        system = System(key, title, _place(file))
        for one, row in _rows(file, "procedure", taken):
            with naming(path.name, one):
                found.append(read_procedure(row, key, equipment))
        file.finish()
    return system, found
