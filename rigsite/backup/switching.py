"""What is here moves aside and what was made ready takes its place: all of it or, until
it is begun, nothing. A mark on the disk says that it was begun; whoever is interrupted
leaves the mark, and the next start or command goes on where it ended."""

import json
import os
import shutil
from dataclasses import asdict, dataclass, field
from pathlib import Path

from maintenance.disk import HALF, make_folder, put_file, sync_folder
from rigsite.backup.unpacking import FILES

MARK = "restore-begun.json"


@dataclass(frozen=True, slots=True)
class Switch:
    """`moves`: from where, to where, in order; what is there before goes `aside`. From
    nowhere (""): it only goes aside. `place` is removed in the end. `row`: the name of
    a mark in the database, without which nothing was begun: a server keeps its own.
    `empty`: what went aside and is not kept, since there was nothing in it."""

    moves: list[tuple[str, str]]
    aside: str
    place: str
    row: str = ""
    empty: list[str] = field(default_factory=list)


def begin(data: Path, switch: Switch) -> None:
    put_file(data / MARK, json.dumps(asdict(switch)).encode())


def begun(data: Path) -> Switch | None:
    try:
        return Switch(**json.loads((data / MARK).read_text()))
    except FileNotFoundError:
        return None


def finish(data: Path, switch: Switch, *, begun: bool = True) -> None:
    """Go on with a switch whose mark stands; one that was not `begun` is forgotten."""
    if begun:
        aside = Path(switch.aside)
        make_folder(aside)
        for source, target in switch.moves:
            _move(Path(source) if source else None, Path(target), aside)
        _tidy(aside, switch.empty)
    (data / MARK).unlink()
    sync_folder(data)
    shutil.rmtree(switch.place, ignore_errors=True)


def _move(source: Path | None, target: Path, aside: Path) -> None:
    """Done again, it does nothing: what was moved is no longer at its source."""
    if source is not None and not source.exists():
        return
    kept = aside / target.name
    if target.exists() and kept.exists():
        _remove(target)  # it is whole where it went, and here once more
    elif target.exists():
        _carry(target, kept)
    if source is not None:
        _carry(source, target)


def _tidy(aside: Path, empty: list[str]) -> None:
    """A folder is kept aside only where something is in it."""
    for name in empty:
        (aside / name).unlink(missing_ok=True)
    for folder in (aside / FILES, aside):
        if folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()


def _carry(source: Path, target: Path) -> None:
    """Also to another disk; the name is there when all of it is."""
    if source.stat().st_dev == target.parent.stat().st_dev:
        source.rename(target)
    else:
        half = target.with_name(f".{target.name}{HALF}")
        _remove(half)
        copy = shutil.copytree if source.is_dir() else shutil.copy2
        copy(source, half)
        os.sync()
        half.rename(target)
    sync_folder(target.parent)
    _remove(source)
    sync_folder(source.parent)


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
