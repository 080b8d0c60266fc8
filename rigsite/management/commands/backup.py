"""`manage.py backup`: database and files in one ZIP, tried before it is called good."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from rigsite.backup.making import make_backup, note_backup
from rigsite.backup.restoring import BackupError, try_backup


class Command(BaseCommand):
    help = "Write a backup of everything, and try it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "folder", nargs="?", type=Path, help="where to; else in the data folder"
        )
        parser.add_argument(
            "--portable",
            action="store_true",
            help="rows as text, to move between SQLite and PostgreSQL",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        folder = options["folder"] or Path(settings.DATA) / "backups"
        try:
            path = make_backup(folder, now=now, portable=options["portable"])
            manifest = try_backup(path)
        except (BackupError, OSError) as error:
            raise CommandError(f"No good backup was made: {error}") from None
        note_backup(path, now=now)
        size = path.stat().st_size // 1024 + 1
        files = len(manifest["files"]) - 1
        rows = sum(manifest["rows"].values())
        self.stdout.write(
            f"{path}: {rows} rows, {files} files, {size} KB. Tried: good."
        )
