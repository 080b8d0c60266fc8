"""Trying a backup, and putting it in the place of what is there."""

import contextlib
import fcntl
import hashlib
import json
import os
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.serializers.base import DeserializationError
from django.db import DatabaseError, connection

from maintenance.disk import make_folder
from rigsite.backup.making import (
    BLOCK,
    COPY,
    LINES,
    WHOLE,
    rows_of_copy,
    rows_of_lines,
    write_lines,
)
from rigsite.backup.scratch import database_of_lines
from rigsite.upgrade import begin, unknown, upgrade


class BackupError(Exception):
    """What is wrong with a backup, or why it cannot be put back now."""


def try_backup(path: Path) -> dict[str, Any]:
    """Unpack it apart, check every digest, open its database; its manifest.

    `BackupError` names the first thing that does not fit.
    """
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=".trial-") as place:
        return unpack(path, Path(place))


def unpack(path: Path, place: Path) -> dict[str, Any]:
    """Everything of a backup into a folder, checked; its manifest."""
    try:
        with zipfile.ZipFile(path) as packed:
            manifest = _manifest(packed)
            for file in manifest["files"]:
                _unpack_one(packed, place, file)
    except (OSError, zipfile.BadZipFile, zlib.error, KeyError, ValueError) as error:
        raise BackupError(f"{path} is not a whole backup: {error}") from None
    _check_database(place / manifest["database"], manifest)
    return manifest


def _manifest(packed: zipfile.ZipFile) -> dict[str, Any]:
    manifest = json.loads(packed.read("manifest.json"))
    if manifest.get("program") != "rigsite" or manifest["database"] not in {
        COPY,
        LINES,
    }:
        raise ValueError("it was not made by this program")
    strange = set(packed.namelist()) - {"manifest.json"}
    strange -= {file["name"] for file in manifest["files"]}
    if strange:
        raise ValueError(f"the manifest does not know {sorted(strange)[0]}")
    return dict(manifest)


def _unpack_one(packed: zipfile.ZipFile, place: Path, file: dict[str, Any]) -> None:
    target = place / file["name"]
    if not target.resolve().is_relative_to(place.resolve()):
        raise ValueError(f"{file['name']} would lie outside of its folder")
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    digest = hashlib.sha256()
    with packed.open(file["name"]) as source, target.open("wb") as out:
        while block := source.read(BLOCK):
            digest.update(block)
            out.write(block)
    target.chmod(0o600)
    if digest.hexdigest() != file["sha256"]:
        raise ValueError(f"{file['name']} is not what was stored")


def _check_database(database: Path, manifest: dict[str, Any]) -> None:
    try:
        if database.name == COPY:
            _check_copy(database)
            rows = rows_of_copy(database)
        else:
            rows = rows_of_lines(database)
    except (sqlite3.DatabaseError, ValueError, KeyError) as error:
        raise BackupError(f"The database in it cannot be read: {error}") from None
    if rows != manifest["rows"]:
        raise BackupError("The database in it has other rows than were stored.")


def _check_copy(database: Path) -> None:
    with contextlib.closing(sqlite3.connect(database)) as copy:
        (said,) = copy.execute("PRAGMA integrity_check").fetchone()
        if said != "ok":
            raise ValueError(said)
        if copy.execute("PRAGMA foreign_key_check").fetchone():
            raise ValueError("a row refers to one that is not there")


def restore(path: Path, *, now: datetime, replace: bool) -> dict[str, Any]:
    """Put a backup in the place of what is there, which is moved aside; its manifest.

    Nothing is touched before the whole backup was unpacked and checked.
    """
    data = Path(settings.DATA)
    make_folder(data)
    with _nobody_else(data), tempfile.TemporaryDirectory(dir=data) as place:
        manifest = unpack(path, Path(place))
        _refuse(manifest, replace=replace)
        database = _of_today(Path(place), manifest)
        os.sync()  # what was unpacked is on the disk before what is there moves aside
        aside = data / f"before-restore-{now:%Y%m%d-%H%M%S}"
        aside.mkdir(mode=0o700)
        if connection.vendor == "sqlite":
            _put_copy(database, aside)
        else:
            _put_lines(database, aside)
        _put_files(Path(place, "files"), aside)
        begin()  # what came back is reckoned anew, as after an upgrade
        upgrade()
    os.sync()
    return manifest


def _of_today(place: Path, manifest: dict[str, Any]) -> Path:
    """What is to be put in place: a copy as it is, since `upgrade` migrates it; lines
    as a database of today's tables, for PostgreSQL as lines of these again."""
    if manifest["database"] == COPY:
        return place / COPY
    to_lines = connection.vendor != "sqlite"
    state = [(app, name) for app, name in manifest["migrations"]]
    whole = manifest.get("moments") == WHOLE
    try:
        with database_of_lines(
            place / LINES, place / COPY, state=state, whole_moments=whole
        ):
            return write_lines(place) if to_lines else place / COPY
    except (DatabaseError, DeserializationError) as error:
        raise BackupError(f"The database in it cannot be read: {error}") from None


@contextlib.contextmanager
def _nobody_else(data: Path) -> Iterator[None]:
    """Held as `start` holds it, so that neither runs beside the other."""
    with (data / "running").open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise BackupError("The program is running. Stop it first.") from None
        yield


def _refuse(manifest: dict[str, Any], *, replace: bool) -> None:
    if unknown((app, name) for app, name in manifest["migrations"]):
        raise BackupError(
            f"It was made by version {manifest['version']}, which is newer than this "
            "program. Install that version, then restore."
        )
    if manifest["database"] == COPY and connection.vendor != "sqlite":
        raise BackupError(
            "It holds an SQLite database, and DATABASE_URL names another kind. Make "
            "the backup with --portable, or restore without DATABASE_URL."
        )
    if not replace and _is_in_use():
        raise BackupError(
            "There is a household here already. With --replace it is moved aside and "
            "the backup takes its place."
        )


def _is_in_use() -> bool:
    if "households_household" not in connection.introspection.table_names():
        return False
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM households_household LIMIT 1")
        return cursor.fetchone() is not None


def _put_copy(copy: Path, aside: Path) -> None:
    connection.close()
    database = Path(connection.settings_dict["NAME"])
    for end in ("", "-wal", "-shm"):
        old = database.with_name(database.name + end)
        if old.exists():
            shutil.move(old, aside / old.name)
    shutil.move(copy, database)


def _put_lines(lines: Path, aside: Path) -> None:
    """What is there is kept as lines too: a server's database has no file to move."""
    call_command("migrate", verbosity=0)
    if _is_in_use():
        write_lines(aside)
    call_command("flush", interactive=False, verbosity=0)
    call_command("loaddata", str(lines), verbosity=0)


def _put_files(files: Path, aside: Path) -> None:
    kept = Path(settings.MEDIA_ROOT)
    if kept.exists():
        shutil.move(kept, aside / kept.name)
    if files.exists():
        shutil.move(files, kept)
