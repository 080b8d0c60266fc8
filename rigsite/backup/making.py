"""One ZIP with the database, every kept file, and a manifest of both.

SQLite is copied by its own backup function, which gives one consistent state while the
program runs. Of PostgreSQL, and with `portable`, the rows are written as JSON lines,
which either database can take back.
"""

import contextlib
import hashlib
import json
import os
import sqlite3
import tempfile
import tomllib
import zipfile
from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from maintenance.disk import is_half, make_folder, put_file, put_in_place

COPY, LINES = "database.sqlite3", "database.jsonl"
WHOLE = "whole"  # moments in lines keep their microseconds; the first version cut them
BLOCK = 1 << 20
# Made anew by the program, or worth nothing elsewhere.
NOT_IN_LINES = (
    "contenttypes",
    "auth.permission",
    "sessions",
    "households.loginsession",
    "households.onetimelink",
    "axes",
)


def make_backup(folder: Path, *, now: datetime, portable: bool = False) -> Path:
    """Write the backup into a folder; its path. Half a backup is never left there."""
    make_folder(folder)
    path = folder / f"rigsite-backup-{now:%Y%m%d-%H%M%S}.zip"
    with tempfile.TemporaryDirectory(dir=folder, prefix=".backup-") as place:
        half = Path(place, "backup.zip")
        half.touch(mode=0o600)
        with zipfile.ZipFile(half, "w", zipfile.ZIP_DEFLATED) as packed:
            _write(packed, Path(place), now=now, portable=portable)
        put_in_place(half, path)
    return path


def _write(
    packed: zipfile.ZipFile, place: Path, *, now: datetime, portable: bool
) -> None:
    as_copy = connection.vendor == "sqlite" and not portable
    # The database first: a file that came later is more than it knows of, not less.
    database = _copy(place) if as_copy else write_lines(place)
    rows = rows_of_copy(database) if as_copy else rows_of_lines(database)
    files = [_pack(packed, database, database.name)]
    for path in _kept_files():
        name = path.relative_to(settings.MEDIA_ROOT).as_posix()
        files.append(_pack(packed, path, f"files/{name}"))
    manifest = {
        "program": "rigsite",
        "version": program_version(),
        "made_at": now.isoformat(timespec="seconds"),
        "database": database.name,
        "moments": WHOLE,
        "migrations": sorted(MigrationRecorder(connection).applied_migrations()),
        "rows": rows,
        "files": files,
    }
    packed.writestr("manifest.json", json.dumps(manifest, indent=1))


def _copy(place: Path) -> Path:
    made = place / COPY
    copy_database(made)
    return made


def copy_database(to: Path) -> None:
    """SQLite's own copy of the database, one consistent state, into an empty file."""
    connection.ensure_connection()
    with contextlib.closing(sqlite3.connect(to)) as copy:
        connection.connection.backup(copy)
        # One file: whoever opens it needs no second one beside.
        copy.execute("PRAGMA journal_mode=DELETE")


def write_lines(place: Path) -> Path:
    """All rows as JSON lines, into a folder; the file."""
    made = place / LINES
    call_command(
        "dumpdata", format="jsonl", exclude=NOT_IN_LINES, output=str(made), verbosity=0
    )
    return made


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


def _kept_files() -> Iterator[Path]:
    root = Path(settings.MEDIA_ROOT)
    for folder, _folders, names in os.walk(root):
        for name in sorted(names):
            path = Path(folder, name)
            if path.is_file() and not path.is_symlink() and not is_half(path):
                yield path


def _pack(packed: zipfile.ZipFile, path: Path, name: str) -> dict[str, Any]:
    digest, size = hashlib.sha256(), 0
    with path.open("rb") as source, packed.open(name, "w", force_zip64=True) as out:
        while block := source.read(BLOCK):
            digest.update(block)
            size += len(block)
            out.write(block)
    return {"name": name, "sha256": digest.hexdigest(), "bytes": size}


def program_version() -> str:
    data = tomllib.loads((settings.BASE_DIR / "pyproject.toml").read_text())
    return str(data["project"]["version"])


def note_backup(path: Path, *, now: datetime) -> None:
    """Keep when and where the last good backup was made, for whoever asks."""
    said = {"at": now.isoformat(timespec="seconds"), "path": str(path)}
    put_file(settings.DATA / "last-backup.json", json.dumps(said).encode())


def last_backup() -> dict[str, str] | None:
    """`at` (ISO) and `path` of the last good backup; None when there was none."""
    try:
        found = json.loads((settings.DATA / "last-backup.json").read_text())
    except (OSError, ValueError):
        return None
    return {"at": str(found["at"]), "path": str(found["path"])}
