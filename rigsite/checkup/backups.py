"""The newest good backup, and how to put it back. Asks no database: it may be what is
broken."""

import shlex
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from rigsite.backup import making


def newest_backup() -> tuple[datetime, Path] | None:
    """When it was made and where it lies, as far as it is still there."""
    noted = making.last_backup()
    if noted is not None and Path(noted["path"]).exists():
        return datetime.fromisoformat(noted["at"]), Path(noted["path"])
    lying = sorted((Path(settings.DATA) / "backups").glob("rigsite-backup-*.zip"))
    if not lying:
        return None
    return datetime.fromtimestamp(lying[-1].stat().st_mtime, UTC), lying[-1]


def backup_of() -> str:
    """In words: where to go back to, and by which command."""
    found = newest_backup()
    if found is None:
        return "There is no backup here. If you keep one elsewhere, restore that one."
    at, path = found
    return (
        f"The newest good backup is {path}, made {at:%Y-%m-%d %H:%M} UTC. Stop the"
        f" program, then: python3 manage.py restore --replace {shlex.quote(str(path))}"
    )
