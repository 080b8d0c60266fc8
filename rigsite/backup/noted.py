"""What is known of backups on this machine, a small file each in the data folder: the
database, which they are copies of, cannot tell of them after a restore."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings

from maintenance.disk import put_file

BACKUP = "backup"  # the last good one: at, path
NIGHTLY = "nightly"  # the last that was made by itself: at, path
ELSEWHERE = "backup-elsewhere"  # the last on another disk, or taken by download
TRIAL = "trial"  # the last one restored into scratch: at, path, words, doubts
STORED = (
    "stored"  # the last time that all stored copies were read back: at, good, words
)
PROBLEM = "backup-problem"  # why the last attempt of a night failed: at, words


def note(what: str, *, now: datetime, **said: Any) -> None:
    data = {"at": now.isoformat(timespec="seconds"), **said}
    put_file(_file(what), json.dumps(data).encode())


def noted(what: str) -> dict[str, Any] | None:
    """`at` is a moment; None when there is nothing, or it cannot be read."""
    try:
        found = json.loads(_file(what).read_text())
        return {**found, "at": datetime.fromisoformat(found["at"])}
    except (OSError, ValueError, KeyError, TypeError):
        return None


def forget(what: str) -> None:
    _file(what).unlink(missing_ok=True)


def _file(what: str) -> Path:
    return Path(settings.DATA) / f"last-{what}.json"
