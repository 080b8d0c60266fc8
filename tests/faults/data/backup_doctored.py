"""A backup that somebody changed: what the manifest tells is refused, what the chain of
records tells is named."""

import hashlib
import json
import sqlite3
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

from django.utils import timezone

from rigsite.backup.making import COPY, make_backup
from rigsite.backup.restoring import Source, try_backup
from tests.faults.data.backup_truncated import assert_refused
from tests.faults.place import NAME, Place, files, households
from tests.faults.table import data_fault

Parts = dict[str, bytes]


@data_fault("backup doctored")
def backup_doctored(place: Place) -> str:
    with place.in_use():
        made = make_backup(place.room, now=timezone.now())
        whole, kept = _parts(made), files(place.data)
        for change, words in (
            (_flip_a_file, "isn't what was stored"),
            (_add_a_file, "the manifest doesn't list"),
            (_leave_the_folder, "outside its folder"),
            (_drop_a_row, "different rows than were stored"),
            (_cut_the_chain, "The tamper check of a rig"),
            (_of_the_future, "newer than this one"),
        ):
            _write(place.room / "bad.zip", change(dict(whole), place.room))
            assert_refused(place, place.room / "bad.zip", words)
        _write(place.room / "bad.zip", _change_a_record(dict(whole), place.room))
        done = try_backup(Source(place.room / "bad.zip"))
        assert any("Tampered" in doubt for doubt in done.doubts), done.doubts
    assert households(place.data) == [NAME]
    assert files(place.data) == kept
    return "six kinds refused, nothing touched; a record changed in it is named"


def _parts(path: Path) -> Parts:
    with zipfile.ZipFile(path) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def _write(path: Path, parts: Parts) -> None:
    with zipfile.ZipFile(path, "w") as packed:
        for name, data in parts.items():
            packed.writestr(name, data)


def _manifest(parts: Parts, change: Callable[[dict[str, Any]], object]) -> Parts:
    about = json.loads(parts["manifest.json"])
    change(about)
    return parts | {"manifest.json": json.dumps(about).encode()}


def _flip_a_file(parts: Parts, room: Path) -> Parts:
    name = next(each for each in parts if each.startswith("files/"))
    return parts | {name: parts[name][:-1] + b"?"}


def _add_a_file(parts: Parts, room: Path) -> Parts:
    return parts | {"files/more.pdf": b"more"}


def _leave_the_folder(parts: Parts, room: Path) -> Parts:
    row = {"name": "../out.pdf", "sha256": "0" * 64, "bytes": 1}
    changed = _manifest(parts, lambda about: about["files"].append(row))
    return changed | {"../out.pdf": b"x"}


def _database(parts: Parts, room: Path, *statements: str, honest: bool) -> Parts:
    """With another database; `honest`, its rows are counted anew as well."""
    file = room / "doctored.db"
    file.write_bytes(parts[COPY])
    with closing(sqlite3.connect(file)) as database:
        for statement in statements:
            database.execute(statement)
        database.commit()
    data = file.read_bytes()

    def tell(about: dict[str, Any]) -> None:
        row = next(each for each in about["files"] if each["name"] == COPY)
        row["sha256"] = hashlib.sha256(data).hexdigest()
        if honest:
            about["rows"]["service_records_chainlink"] -= 1

    return _manifest(parts | {COPY: data}, tell)


def _drop_a_row(parts: Parts, room: Path) -> Parts:
    drop = "DELETE FROM households_activityentry"
    return _database(parts, room, drop, honest=False)


def _cut_the_chain(parts: Parts, room: Path) -> Parts:
    last = "(SELECT max(position) FROM service_records_chainlink)"
    cut = f"DELETE FROM service_records_chainlink WHERE position = {last}"  # noqa: S608
    return _database(parts, room, cut, honest=True)


def _change_a_record(parts: Parts, room: Path) -> Parts:
    change = "UPDATE service_records_servicerecord SET notes = 'Tampered'"
    return _database(parts, room, change, honest=False)


def _of_the_future(parts: Parts, room: Path) -> Parts:
    more = ["vehicles", "9999_of_the_future"]
    return _manifest(parts, lambda about: about["migrations"].append(more))
