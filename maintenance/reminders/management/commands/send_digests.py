"""manage.py send_digests: makes the digests that are due and sends all that waits,
without workers."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.reminders.services import (
    clock_is_trusted,
    make_digests,
    make_urgent_mails,
    send_waiting,
)


class Command(BaseCommand):
    help = "Writes the emails that are due, and sends every waiting one."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        if clock_is_trusted(now):
            make_digests(now)
        else:
            make_urgent_mails(now)
            self.stdout.write(
                "This computer's clock jumped. Daily email waits: check the date,"
                " then run manage.py confirm_clock."
            )
        for digest in send_waiting(now):
            state = digest.get_state_display()
            self.stdout.write(
                f"{digest.to}: {digest}. {state}. {digest.problem}".strip()
            )
        self.stdout.write("No email is waiting now.")
