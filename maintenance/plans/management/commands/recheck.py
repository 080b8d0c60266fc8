"""manage.py recheck: reckons everything from scratch and compares it with what is
stored. Exit code 1 when anything differs."""

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from maintenance.core.facts import FactError
from maintenance.households.models import Household
from maintenance.plans.models import Standing
from maintenance.plans.standings import Difference, recheck


class Command(BaseCommand):
    help = (
        "Works out what's due from scratch and prints each job that differs "
        "from what is stored. Changes nothing. Exits with 1 if any differs."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        wrong = sum(self._recheck(household) for household in Household.objects.all())
        if wrong:
            self.stderr.write(f"{wrong} differ from what is stored.")
            sys.exit(1)
        count = Standing.objects.count()
        self.stdout.write(f"All {count} stored standings match.")

    def _recheck(self, household: Household) -> int:
        """How many differ. The day is the one that the standings are stored for, unless
        it has not come yet: a clock that was ahead must not agree with itself."""
        today = household.today(timezone.now())
        as_of = min(household.reckoned_on or today, today)
        try:
            found = recheck(household, as_of=as_of)
        except FactError as error:
            self.stdout.write(f"{household}: can't be worked out: {error}")
            return 1
        for difference in found:
            self.stdout.write(_in_words(household, difference))
        return len(found)


def _in_words(household: Household, difference: Difference) -> str:
    item = difference.item
    return (
        f"{household}, {item.rig}, {item} (item {item.pk}):"
        f" stored {difference.stored}, worked out {difference.reckoned}"
    )
