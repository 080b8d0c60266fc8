"""Brings in every file that waits, as the workers would."""

from typing import Any

from django.core.management.base import BaseCommand

from maintenance.exchange.models import ImportJob
from maintenance.exchange.running import bring_in
from maintenance.jobs.services import run


class Command(BaseCommand):
    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        rows = list(ImportJob.objects.waiting())
        for row in rows:
            run(ImportJob, row.pk, bring_in)
            done = ImportJob.objects.get(pk=row.pk)
            words = f"{done.get_state_display()}, {done.added} rows"
            self.stdout.write(f"{done}: {words} {done.problem}".rstrip())
        if not rows:
            self.stdout.write("No file is waiting.")
