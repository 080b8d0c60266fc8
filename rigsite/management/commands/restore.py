"""`manage.py restore`: a backup in the place of what is here, or only tried."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from maintenance.disk import make_folder
from rigsite.backup.nightly import FAILURES
from rigsite.backup.restoring import (
    Restored,
    Source,
    restore,
    try_backup,
)

ON_A_BARE_MACHINE = (
    "This computer has its own secret. Log in again; subscribe to each "
    "calendar again (Reminders, Calendar); links in earlier email no longer "
    "work. Reminders continue with the next daily email."
)
IN_PLACE = (
    "Log in again. Calendars and links in earlier email still work. Reminders "
    "continue with the next daily email."
)


class Command(BaseCommand):
    help = "Restore a backup. What's here now is moved aside, never deleted."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("backup", type=Path)
        parser.add_argument(
            "--try",
            action="store_true",
            dest="trial",
            help="check it without changing anything",
        )
        parser.add_argument(
            "--replace", action="store_true", help="even if there's a household here"
        )
        parser.add_argument(
            "--key", type=Path, help="the file with your private key, if encrypted"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path, key = options["backup"], options["key"]
        try:
            if options["trial"]:
                make_folder(Path(settings.DATA))
                done = try_backup(Source(path, key), room=Path(settings.DATA))
            else:
                done = restore(
                    path, now=timezone.now(), replace=options["replace"], key=key
                )
        except FAILURES as error:
            raise CommandError(str(error)) from None
        self._tell(path, done, trial=options["trial"])

    def _tell(self, path: Path, done: Restored, *, trial: bool) -> None:
        manifest = done.manifest
        made = f"made {manifest['made_at']} by version {manifest['version']}"
        verdict = "is good" if trial else "is restored"
        self.stdout.write(f"{path} {verdict}: {made}, {done.words}.")
        for doubt in done.doubts:
            self.stdout.write(f"As it was when the backup was made: {doubt}")
        if not trial:
            self.stdout.write(ON_A_BARE_MACHINE if done.bare else IN_PLACE)
