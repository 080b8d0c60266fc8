"""manage.py tidy: what the job of this name does, here and now."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.reminders.services import tidy


class Command(BaseCommand):
    help = "Lets go of old mail, notices of work done, and what forms left behind."

    def handle(self, *args: Any, **options: Any) -> None:
        gone = tidy(timezone.now())
        self.stdout.write(
            f"Let go: {gone.notices} notices, {gone.mails} mails, {gone.rest} others."
        )
