"""manage.py raise_notices: what the job of this name does, here and now."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.reminders.services import raise_everywhere


class Command(BaseCommand):
    help = "Makes reminders wherever a new day has begun or something was done."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"Reminders made: {raise_everywhere(timezone.now())}.")
