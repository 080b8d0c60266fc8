"""The newest good backup, and how to put it back. Asks no database: it may be what is
broken."""

import shlex
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from rigsite.backup import noted
from rigsite.backup.copies import Copies, nightly_folder
from rigsite.backup.sealing import SEALED


def newest_backup() -> tuple[datetime, Path] | None:
    """When it was made and where it lies, as far as it is still there."""
    last = noted.noted(noted.BACKUP)
    if last is not None and Path(last["path"]).exists():
        return last["at"], Path(last["path"])
    by_hand = (Path(settings.DATA) / "backups").glob("rigsite-backup-*.zip*")
    lying = {
        **{datetime.fromtimestamp(one.stat().st_mtime, UTC): one for one in by_hand},
        **Copies(nightly_folder()).made(),
    }
    return max(lying.items(), default=None)


def backup_of() -> str:
    """In words: where to go back to, and by which command."""
    found = newest_backup()
    if found is None:
        return "There's no backup here. If you keep one elsewhere, restore that one."
    at, path = found
    key = " --key YOUR-PRIVATE-KEY" if path.suffix == SEALED else ""
    return (
        f"The newest good backup is {path}, made {at:%Y-%m-%d %H:%M} UTC. "
        "Stop Rigsite, then: python3 manage.py restore --replace"
        f" {shlex.quote(str(path))}{key}"
    )
