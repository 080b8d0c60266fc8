"""manage.py renew_standings: what the job of this name does, here and now."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.plans.day_change import renew_behind


class Command(BaseCommand):
    help = "Updates what's due in every household whose local day has changed."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"Households updated: {renew_behind(timezone.now())}.")
