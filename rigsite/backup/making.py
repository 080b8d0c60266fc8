"""A copy of the database that any other can take back, and one ZIP of it with every
kept file and a manifest of both.

The copy is always an SQLite file: SQLite's own copy function gives one consistent state
while the program runs; PostgreSQL's rows are read in one transaction and written into
such a file. It is scrubbed before anything of it lies in a backup.
"""

import contextlib
import fcntl
import hashlib
import json
import os
import shutil
import sqlite3
import tempfile
import tomllib
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.db.migrations.recorder import MigrationRecorder

from maintenance.disk import is_half, make_folder, put_in_place
from maintenance.households.workers import nobody_called
from maintenance.service_records.chain.verifying import head_of
from maintenance.vehicles.models import Rig
from rigsite.backup.scratch import database_in_use, database_of_lines, scratch
from rigsite.backup.scrubbing import scrub_rows, vacuum
from rigsite.backup.sealing import SEALED, deliver

COPY, LINES = "database.sqlite3", "database.jsonl"
MANIFEST = "manifest.json"
WHOLE = "whole"  # moments in lines keep their microseconds; the first version cut them
BLOCK = 1 << 20
SPARE = 50_000_000  # bytes that stay free for the rest of the machine
# Made anew by the program, or worth nothing elsewhere.
NOT_IN_LINES = (
    "contenttypes",
    "auth.permission",
    "sessions",
    "households.loginsession",
    "households.onetimelink",
    "axes",
)


class BackupError(Exception):
    """What is wrong with a backup, or why it cannot be made or put back now."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """The scrubbed copy of the database, and what the manifest says of it."""

    database: Path
    about: dict[str, Any]


def make_backup(
    folder: Path,
    *,
    now: datetime,
    public: str = "",
    try_it: Callable[[Path], object] | None = None,
) -> Path:
    """Write the backup into a folder, encrypted to the public key where there is one;
    its path. Half a backup is never left there, and nothing clear beside a sealed one.
    `try_it` is given it in the clear and raises what is wrong with it.
    """
    make_folder(folder)
    name = f"rigsite-backup-{now:%Y%m%d-%H%M%S}.zip"
    with one_at_a_time(), workroom(settings.DATA if public else folder) as place:
        refuse_without_room(place, sum(path.stat().st_size for path in kept_files()))
        made = place / "backup.zip"
        made.touch(mode=0o600)
        with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as packed:
            write_backup(packed, take_snapshot(place, now=now))
        if try_it:
            try_it(made)
        if not public:
            put_in_place(made, folder / name)
            return folder / name
        deliver(made, folder / f"{name}{SEALED}", public=public)
        return folder / f"{name}{SEALED}"


def write_backup(packed: zipfile.ZipFile, snapshot: Snapshot) -> None:
    """The database first: a file that came later is more than it knows of, not less."""
    files = [pack(packed, snapshot.database, COPY)]
    for path in kept_files():
        with contextlib.suppress(FileNotFoundError):  # removed meanwhile
            files.append(pack(packed, path, f"files/{name_of(path)}"))
    packed.writestr(MANIFEST, manifest(snapshot, files))


def manifest(snapshot: Snapshot, files: list[dict[str, Any]]) -> str:
    return json.dumps({**snapshot.about, "files": files}, indent=1)


@contextlib.contextmanager
def one_at_a_time() -> Iterator[None]:
    """Of those who make backups of this data folder; the lock goes with the process."""
    make_folder(Path(settings.DATA))
    with (Path(settings.DATA) / "backing-up").open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


@contextlib.contextmanager
def workroom(folder: Path) -> Iterator[Path]:
    """A folder for what is half made; those that a killed process left are removed, so
    it is asked for by one process at a time."""
    for left in Path(folder).glob(".backup-*"):
        shutil.rmtree(left, ignore_errors=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".backup-") as place:
        yield Path(place)


def refuse_without_room(folder: Path, more: int) -> None:
    """BackupError where a folder has no room for a copy of the database, for its being
    written anew, and for so many bytes more."""
    needed = 3 * database_size() + more + SPARE
    free = shutil.disk_usage(folder).free
    if free < needed:
        raise BackupError(
            f"It needs {needed / 1e6:,.0f} MB, and {folder} has "
            f"{free / 1e6:,.0f} MB free. Make room, then try again."
        )


def database_size() -> int:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(
                "SELECT page_count * page_size"
                " FROM pragma_page_count(), pragma_page_size()"
            )
        else:
            cursor.execute("SELECT pg_database_size(current_database())")
        return int(cursor.fetchone()[0])


# --- the copy of the database ---------------------------------------------------------


def take_snapshot(place: Path, *, now: datetime) -> Snapshot:
    """One state of the database, scrubbed, as an SQLite file in a folder."""
    copy = place / COPY
    copy.touch(mode=0o600)
    migrations = sorted(MigrationRecorder(connection).applied_migrations())
    if connection.vendor == "sqlite":
        copy_database(copy)
    else:
        lines = write_lines(place)
        with database_of_lines(lines, copy, state=migrations, whole_moments=True):
            pass
        lines.unlink()
    with nobody_called(), database_in_use(scratch(copy)):
        scrub_rows()
        heads = {str(rig.row_key): head_of(rig) for rig in Rig.objects.all()}
    vacuum(copy)
    about = {
        "program": "rigsite",
        "version": program_version(),
        "made_at": now.isoformat(timespec="seconds"),
        "database": COPY,
        "scrubbed": True,
        "migrations": migrations,
        "rows": rows_of_copy(copy),
        "heads": {rig: head.words for rig, head in heads.items() if head},
    }
    return Snapshot(copy, about)


def copy_database(to: Path) -> None:
    """SQLite's own copy of the database, one consistent state, into an empty file."""
    if connection.in_atomic_block:  # each would wait for the other to end
        raise BackupError("No backup can be made in the middle of a change.")
    connection.ensure_connection()
    with contextlib.closing(sqlite3.connect(to)) as copy:
        connection.connection.backup(copy)
        # One file: whoever opens it needs no second one beside.
        copy.execute("PRAGMA journal_mode=DELETE")


def write_lines(place: Path) -> Path:
    """All rows as JSON lines, into a folder; the file. All are of one state."""
    made = place / LINES
    made.touch(mode=0o600)
    with _one_state():
        call_command(
            "dumpdata",
            format="jsonl",
            exclude=NOT_IN_LINES,
            output=str(made),
            verbosity=0,
        )
    return made


@contextlib.contextmanager
def _one_state() -> Iterator[None]:
    """What is read within is as it was at the first reading. SQLite's copies are read
    alone: the database in use would have to wait."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute(
                    "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"
                )
        yield


def rows_of_copy(path: Path) -> dict[str, int]:
    """How many rows each table of an SQLite file has."""
    with contextlib.closing(sqlite3.connect(path)) as copy:
        names = copy.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table'"
            " AND name NOT LIKE 'sqlite%' ORDER BY name"
        )
        return {name: _count(copy, name) for (name,) in names.fetchall()}


def _count(copy: sqlite3.Connection, table: str) -> int:
    quoted = table.replace('"', '""')
    asked = f'SELECT count(*) FROM "{quoted}"'  # noqa: S608  # nosec B608
    return int(copy.execute(asked).fetchone()[0])


def rows_of_lines(path: Path) -> dict[str, int]:
    """How many rows of each model stand in a file of JSON lines."""
    with path.open(encoding="utf-8") as lines:
        counted = Counter(str(json.loads(line)["model"]) for line in lines)
    return dict(sorted(counted.items()))


# --- the kept files -------------------------------------------------------------------


def kept_files() -> Iterator[Path]:
    root = Path(settings.MEDIA_ROOT)
    for folder, _folders, names in os.walk(root):
        for name in sorted(names):
            path = Path(folder, name)
            if path.is_file() and not path.is_symlink() and not is_half(path):
                yield path


def name_of(path: Path) -> str:
    return path.relative_to(settings.MEDIA_ROOT).as_posix()


def pack(packed: zipfile.ZipFile, path: Path, name: str) -> dict[str, Any]:
    about = zipfile.ZipInfo(name)
    # Photos and PDFs are packed already: to pack them again takes long for nothing.
    about.compress_type = zipfile.ZIP_DEFLATED if name == COPY else zipfile.ZIP_STORED
    with path.open("rb") as source, packed.open(about, "w", force_zip64=True) as out:
        digest, size = copy_and_digest(source, out)
    return {"name": name, "sha256": digest, "bytes": size}


def copy_and_digest(source: IO[bytes], out: IO[bytes] | None) -> tuple[str, int]:
    """The SHA-256 and the size of what was read, and written if there is where to."""
    digest, size = hashlib.sha256(), 0
    while block := source.read(BLOCK):
        digest.update(block)
        size += len(block)
        if out is not None:
            out.write(block)
    return digest.hexdigest(), size


def program_version() -> str:
    data = tomllib.loads((settings.BASE_DIR / "pyproject.toml").read_text())
    return str(data["project"]["version"])
