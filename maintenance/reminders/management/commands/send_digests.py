"""manage.py send_digests: makes the digests that are due and sends all that waits,
without workers."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.reminders.services import make_digests, send_waiting


class Command(BaseCommand):
    help = "Makes the digests that are due, and sends every mail that waits."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        make_digests(now)
        for digest in send_waiting(now):
            state = digest.get_state_display()
            self.stdout.write(
                f"{digest.to}: {digest}. {state}. {digest.problem}".strip()
            )
        self.stdout.write("No more mail waits for now.")
