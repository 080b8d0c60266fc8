"""`manage.py restore`: a backup in the place of what is here, or only tried."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from rigsite.backup.restoring import BackupError, restore, try_backup
from rigsite.upgrade import UpgradeError


class Command(BaseCommand):
    help = "Put a backup back. What is here is moved aside, never deleted."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("backup", type=Path)
        parser.add_argument(
            "--try", action="store_true", dest="trial", help="check it, change nothing"
        )
        parser.add_argument(
            "--replace", action="store_true", help="although a household lives here"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["backup"]
        try:
            if options["trial"]:
                manifest = try_backup(path)
            else:
                manifest = restore(path, now=timezone.now(), replace=options["replace"])
        except (BackupError, UpgradeError) as error:
            raise CommandError(str(error)) from None
        done = "is good" if options["trial"] else "is restored"
        rows = sum(manifest["rows"].values())
        made = f"made {manifest['made_at']} by version {manifest['version']}"
        self.stdout.write(f"{path} {done}: {made}, {rows} rows.")
