"""manage.py confirm_clock: the date that this machine shows is right; daily mail that
waited since its clock jumped goes out."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from maintenance.reminders.services import clock_in_doubt, confirm_clock


class Command(BaseCommand):
    help = (
        "Confirms that the date this computer shows is right, after its clock jumped."
        " Daily email, on hold until now, goes out again."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--date", help="today's date in UTC, so that nothing is confirmed unread"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        if options["date"] not in (None, f"{now:%Y-%m-%d}"):
            raise CommandError(
                f"This computer shows {now:%Y-%m-%d %H:%M} UTC. Set its clock; daily"
                " email then goes out again."
            )
        doubted = clock_in_doubt()
        confirm_clock(now)
        was = "Daily email goes out again." if doubted else "It wasn't in doubt."
        self.stdout.write(f"The clock shows {now:%Y-%m-%d %H:%M} UTC. {was}")
