"""manage.py sweep: hands to the workers what is due or what a crash left."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.reminders.services import sweep


class Command(BaseCommand):
    help = "Hands every mail that is due, or that a crash left, to the workers."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"Mails handed to the workers: {sweep(timezone.now())}.")
