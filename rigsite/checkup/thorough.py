"""Checks that read everything: each night, and by `manage.py checkup`. What the night
found is kept in a file, since the database may be what is broken."""

import hashlib
import json
import logging
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection

from maintenance.core.words import counted
from maintenance.disk import put_file
from maintenance.service_records.chain.verifying import verify
from maintenance.vehicles.models import Rig

from .backups import backup_of
from .files import KeptFile, kept_files
from .finding import Finding, Level

log = logging.getLogger(__name__)

OLDEST = timedelta(days=8)
RUN_COMMAND = "manage.py checkup names them."


def thorough() -> list[Finding]:
    return [integrity(), *(check() for check in (chains, files))]


def integrity() -> Finding:
    """Whether the database can be read from end to end. PostgreSQL does this itself."""
    what = "Integrity"
    if connection.vendor != "sqlite":
        return Finding(what, "checked by the database server.")
    try:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check(20)")
            said = [str(row[0]) for row in cursor.fetchall()]
    except DatabaseError as error:
        said = [str(error)]
    if said == ["ok"]:
        return Finding(what, "the database is whole.")
    words = f"the database is damaged. {backup_of()}"
    return Finding(what, words, Level.BROKEN, tuple(said))


def chains() -> Finding:
    what = "Tamper check"
    try:
        wrong = [
            f"{rig.household}, {rig}: {each.text}"
            for rig in Rig.objects.select_related("household").order_by("pk")
            for each in verify(rig).found
        ]
    except DatabaseError as error:
        return Finding(what, "couldn't be read.", Level.BROKEN, (str(error),))
    if not wrong:
        return Finding(what, "every record is as it was entered.")
    words = (
        f"{counted(len(wrong), 'thing')} changed after entry. {RUN_COMMAND} Ask who "
        "changed them, or restore a backup."
    )
    return Finding(what, words, Level.BROKEN, tuple(wrong))


def files() -> Finding:
    """Whether each file on record lies on the disk as it was stored."""
    what = "Files"
    try:
        wrong = list(_wrong_files())
    except DatabaseError as error:
        return Finding(what, "couldn't be read.", Level.BROKEN, (str(error),))
    if not wrong:
        return Finding(what, "every photo and document is whole.")
    words = (
        f"{len(wrong)} missing or damaged. {RUN_COMMAND} Copy them back from a backup."
    )
    return Finding(what, words, Level.BROKEN, tuple(wrong))


def _wrong_files() -> Iterator[str]:
    for kept in kept_files():
        problem = _problem(kept)
        if problem:
            yield f"{kept.path}: {problem} ({kept.about})"


def _problem(kept: KeptFile) -> str:
    try:
        with kept.path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return "missing"
    except OSError as error:
        return f"can't be read: {error.strerror}"
    return "" if digest == kept.sha256 else "not the file that was stored"


# --- kept for pages -------------------------------------------------------------------


def _path() -> Path:
    return Path(settings.DATA) / "checkup.json"


def note(findings: list[Finding], now: datetime) -> None:
    rows = [[each.what, each.words, int(each.level)] for each in findings]
    said = {"at": now.isoformat(timespec="seconds"), "findings": rows}
    put_file(_path(), json.dumps(said).encode())


def noted(now: datetime) -> list[Finding]:
    """What the last thorough check found, and a warning where that was long ago."""
    try:
        said = json.loads(_path().read_text())
        at = datetime.fromisoformat(said["at"])
        rows = [(str(w), str(t), Level(level)) for w, t, level in said["findings"]]
    except (OSError, ValueError, LookupError, TypeError):
        return [Finding("Thorough check", "none yet. One runs each night.")]
    found = [Finding(what, words, level) for what, words, level in rows]
    if now - at > OLDEST:
        words = "older than a week. Run: manage.py checkup"
        found.append(Finding("Thorough check", words, Level.WARNING))
    return found


def noted_at() -> datetime | None:
    try:
        return datetime.fromisoformat(json.loads(_path().read_text())["at"])
    except (OSError, ValueError, LookupError, TypeError):
        return None
