"""Standings of a new day: the job that renews them where the local day has changed."""

import logging
from collections.abc import Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils import timezone

from maintenance.core.facts import FactError
from maintenance.households.models import Household

from .standings import renew_household

log = logging.getLogger(__name__)


def households_behind(now: datetime) -> Iterator[Household]:
    """Households reckoned last for an earlier day than theirs is now."""
    zones = Household.objects.order_by("timezone").values_list("timezone", flat=True)
    for zone in zones.distinct():
        today = timezone.localdate(now, ZoneInfo(zone))
        behind = Q(reckoned_on__isnull=True) | Q(reckoned_on__lt=today)
        yield from Household.objects.filter(behind, timezone=zone).order_by("pk")


def renew_behind(now: datetime) -> int:
    """Renew the standings of these households; says how many households."""
    renewed = 0
    for household in households_behind(now):
        try:
            renew_household(household, as_of=household.today(now))
        except FactError as error:
            # One that cannot be reckoned does not keep the others from their day.
            log.error("household %s cannot be reckoned: %s", household.pk, error)
        else:
            renewed += 1
    return renewed
