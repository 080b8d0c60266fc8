"""manage.py tidy: what the job of this name does, here and now."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.reminders.services import tidy


class Command(BaseCommand):
    help = "Deletes old email, reminders of finished work, and leftovers of forms."

    def handle(self, *args: Any, **options: Any) -> None:
        gone = tidy(timezone.now())
        self.stdout.write(
            f"Deleted: {gone.notices} reminders, {gone.mails} emails, {gone.rest} more."
        )
