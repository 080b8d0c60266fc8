"""A backup as a download: made in a folder that is gone before it is sent."""

import tempfile
from datetime import datetime
from pathlib import Path
from typing import IO

from django.conf import settings

from rigsite.backup import noted
from rigsite.backup.making import make_backup


def backup_to_download(now: datetime) -> tuple[IO[bytes], str]:
    """The open file, which nobody else finds any more, and its name."""
    with tempfile.TemporaryDirectory(dir=settings.DATA, prefix=".download-") as folder:
        path = make_backup(Path(folder), now=now, public=settings.BACKUP_KEY)
        file = path.open("rb")
    noted.note(noted.ELSEWHERE, now=now, path=path.name)
    return file, path.name
