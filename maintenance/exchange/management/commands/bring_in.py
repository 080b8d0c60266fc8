"""Brings in every file that waits, as the workers would."""

from typing import Any

from django.core.management.base import BaseCommand

from maintenance.exchange.models import Bringing
from maintenance.exchange.running import bring_in


class Command(BaseCommand):
    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        rows = Bringing.objects.waiting().select_related("rig__household", "begun_by")
        for row in rows:
            bring_in(row, today=row.rig.household.today())
            done = Bringing.objects.get(pk=row.pk)
            words = f"{done.get_state_display()}, {done.added} rows"
            self.stdout.write(f"{done}: {words} {done.problem}".rstrip())
        if not rows:
            self.stdout.write("No file waits.")
