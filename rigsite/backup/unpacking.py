"""A backup opened as a data folder of its own, every part of it held against the
manifest. Its files lie in the ZIP, or beside it once for all copies of the nights."""

import contextlib
import json
import re
import shutil
import sqlite3
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.core.serializers.base import DeserializationError
from django.db import DatabaseError

from rigsite.backup.making import (
    COPY,
    LINES,
    MANIFEST,
    SPARE,
    WHOLE,
    BackupError,
    copy_and_digest,
    rows_of_copy,
    rows_of_lines,
)
from rigsite.backup.scratch import database_of_lines
from rigsite.backup.sealing import SEALED, SealError, unseal

Manifest = dict[str, Any]
DIGEST = re.compile(r"[0-9a-f]{64}")
FILES = "files"  # the folder of files, in a backup, beside it and in the data


@dataclass(frozen=True, slots=True)
class Source:
    """Where a backup's parts come from. `key`: the file with the private key. `live`:
    for files that lie encrypted beside, those in use, in a trial of what was just made.
    `linked`: files are read and held against their digest, not copied."""

    path: Path
    key: Path | None = None
    live: Path | None = None
    linked: bool = False


def open_backup(source: Source, place: Path) -> Manifest:
    """Everything into an empty folder, as the data folder that it was; its manifest.

    `BackupError` names the first thing that does not fit.
    """
    path = source.path
    try:
        with zipfile.ZipFile(_clear(source, place)) as packed:
            manifest = _manifest(packed)
            _refuse_without_room(place, manifest)
            for file in manifest["files"]:
                _take_out(packed, source, place, file)
    except (zipfile.BadZipFile, zlib.error, KeyError, TypeError, ValueError) as error:
        raise BackupError(f"{path} isn't a complete backup: {error}") from None
    except (OSError, EOFError) as error:
        raise BackupError(f"{path} can't be read: {error}") from None
    except SealError as error:
        raise BackupError(str(error)) from None
    (place / FILES).mkdir(mode=0o700, exist_ok=True)
    _check_database(place / manifest["database"], manifest)
    _make_database(place, manifest)
    return manifest


def _clear(source: Source, place: Path) -> Path:
    if not source.path.name.endswith(SEALED):
        return source.path
    clear = place / "opened.zip"
    unseal(source.path, clear, source.key)
    return clear


def _manifest(packed: zipfile.ZipFile) -> Manifest:
    manifest = json.loads(packed.read(MANIFEST))
    if manifest.get("program") != "rigsite" or manifest["database"] not in {
        COPY,
        LINES,
    }:
        raise ValueError("it wasn't made by Rigsite")
    strange = set(packed.namelist()) - {MANIFEST}
    strange -= {file["name"] for file in manifest["files"]}
    if strange:
        raise ValueError(f"the manifest doesn't list {sorted(strange)[0]}")
    return dict(manifest)


def _refuse_without_room(place: Path, manifest: Manifest) -> None:
    needed = sum(int(file["bytes"]) for file in manifest["files"]) + SPARE
    free = shutil.disk_usage(place).free
    if free < needed:
        raise BackupError(
            f"It needs {needed / 1e6:,.0f} MB to open, and {place.parent} has "
            f"{free / 1e6:,.0f} MB free. Make room, then try again."
        )


def _take_out(
    packed: zipfile.ZipFile, source: Source, place: Path, file: dict[str, Any]
) -> None:
    name, digest = str(file["name"]), str(file["sha256"])
    target = place / name
    if not target.resolve().is_relative_to(place.resolve()):
        raise ValueError(f"{name} would be outside its folder")
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    if name in packed.namelist():
        with packed.open(name) as inside, target.open("wb") as out:
            found, _size = copy_and_digest(inside, out)
    else:
        found = _from_beside(source, target, name, digest)
    if found != digest:
        raise ValueError(f"{name} isn't what was stored")
    if not target.is_symlink():
        target.chmod(0o600)


def _from_beside(source: Source, target: Path, name: str, digest: str) -> str:
    """A file that is kept once for many backups; the digest of what was found."""
    if not DIGEST.fullmatch(digest):
        raise ValueError(f"{name} has no digest")
    clear = beside(source.path.parent, digest)
    sealed = clear.with_name(clear.name + SEALED)
    if not clear.exists() and sealed.exists():
        if source.live is None:
            unseal(sealed, target, source.key)
            with target.open("rb") as opened:
                return copy_and_digest(opened, None)[0]
        clear = source.live / name.removeprefix(f"{FILES}/")
    if not clear.exists():
        raise ValueError(
            f"{name} is missing: a nightly copy needs the folder {FILES} beside it"
        )
    with clear.open("rb") as inside, contextlib.ExitStack() as stack:
        out = None if source.linked else stack.enter_context(target.open("wb"))
        found = copy_and_digest(inside, out)[0]
    if source.linked:
        target.symlink_to(clear.resolve())
    return found


def beside(folder: Path, digest: str) -> Path:
    """Where a file with this digest lies among the copies of the nights."""
    return folder / FILES / digest[:2] / digest


def _check_database(database: Path, manifest: Manifest) -> None:
    with _readable():
        if database.name == COPY:
            _check_copy(database)
            rows = rows_of_copy(database)
        else:
            rows = rows_of_lines(database)
    if rows != manifest["rows"]:
        raise BackupError("The database in it has different rows than were stored.")


@contextlib.contextmanager
def _readable() -> Iterator[None]:
    wrong = (DatabaseError, DeserializationError, sqlite3.Error, ValueError, KeyError)
    try:
        yield
    except wrong as error:
        raise BackupError(f"The database in it can't be read: {error}") from None


def _check_copy(database: Path) -> None:
    with contextlib.closing(sqlite3.connect(database)) as copy:
        (said,) = copy.execute("PRAGMA integrity_check").fetchone()
        if said != "ok":
            raise ValueError(said)
        if copy.execute("PRAGMA foreign_key_check").fetchone():
            raise ValueError("a row refers to one that's missing")


def _make_database(place: Path, manifest: Manifest) -> None:
    """An SQLite database in use of what was stored: lines, which older versions wrote,
    as a database of today's tables."""
    made = place / "rigsite.db"
    if manifest["database"] == COPY:
        (place / COPY).rename(made)
        return
    state = [(app, name) for app, name in manifest["migrations"]]
    whole = manifest.get("moments") == WHOLE
    made.touch(mode=0o600)
    with (
        _readable(),
        database_of_lines(place / LINES, made, state=state, whole_moments=whole),
    ):
        (place / LINES).unlink()
