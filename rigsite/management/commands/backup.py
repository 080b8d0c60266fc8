"""`manage.py backup`: database and files in one ZIP, tried before it is called good."""

import argparse
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from rigsite.backup import noted
from rigsite.backup.making import make_backup
from rigsite.backup.nightly import FAILURES, back_up, is_elsewhere
from rigsite.backup.restoring import Restored, try_backup
from rigsite.backup.sealing import make_key
from rigsite.backup.unpacking import Source


class Command(BaseCommand):
    help = "Make a backup of everything, and test it."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument(
            "folder",
            nargs="?",
            type=Path,
            help="where to save it (default: the data folder)",
        )
        parser.add_argument(
            "--nightly",
            action="store_true",
            help="make tonight's nightly backup now",
        )
        parser.add_argument(
            "--new-key",
            type=Path,
            metavar="FILE",
            help="make a key for encrypting backups; its private part goes into FILE",
        )
        # Every backup goes to either database by now.
        parser.add_argument("--portable", action="store_true", help=argparse.SUPPRESS)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["new_key"]:
                self._make_key(options["new_key"])
            elif options["nightly"]:
                self.stdout.write(f"{back_up(timezone.now())}: saved.")
            else:
                folder = options["folder"] or Path(settings.DATA) / "backups"
                self._back_up(folder)
        except FAILURES as error:
            raise CommandError(f"No good backup was made: {error}") from None

    def _make_key(self, path: Path) -> None:
        public = make_key(path)
        self.stdout.write(
            f"The private key is in {path}. Move it off this computer and "
            "keep it where you'll find it: without it, no backup can be "
            "opened. Then set"
            f"\nBACKUP_KEY={public}"
        )

    def _back_up(self, folder: Path) -> None:
        now = timezone.now()
        tried: list[Restored] = []
        path = make_backup(
            folder,
            now=now,
            public=settings.BACKUP_KEY,
            try_it=lambda made: tried.append(try_backup(Source(made))),
        )
        size = path.stat().st_size // 1024 + 1
        noted.note(noted.BACKUP, now=now, path=str(path))
        if is_elsewhere(path):
            noted.note(noted.ELSEWHERE, now=now, path=str(path))
        self.stdout.write(f"{path}: {tried[0].words}, {size} KB. Tested: good.")
