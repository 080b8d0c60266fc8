"""manage.py sweep: hands to the workers what is due or what a crash left."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.reminders.services import sweep


class Command(BaseCommand):
    help = "Gives the workers every email that's due, or left over from a crash."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"Emails given to the workers: {sweep(timezone.now())}.")
