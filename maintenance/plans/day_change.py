"""Standings of a new day: the job that renews those that the day may have changed."""

import logging
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime

from django.db import transaction

from maintenance.core.facts import FactError
from maintenance.households.models import Household
from maintenance.households.queries import reckoned_ahead, whose_day_has_come

from .standings import renew_households

log = logging.getLogger(__name__)

# Households that are reckoned in one transaction: queries cost more than reckoning, and
# whoever wants to change one of them waits for the whole.
BATCH = 25


def behind(now: datetime) -> list[int]:
    """Ids of the households in which a standing may be another today though nobody
    entered anything, and of those that a clock ahead had reckoned for a later day."""
    return sorted({*whose_day_has_come("next_change_on", now), *reckoned_ahead(now)})


def renew_behind(now: datetime) -> int:
    """Renew the standings of these households; says how many households."""
    return renew_some(behind(now), now)


def renew_some(ids: Sequence[int], now: datetime) -> int:
    """Renew those of these households that are behind; says how many. Any number of
    workers may be at it, also at the same ones."""
    renewed = 0
    for chunk in in_batches(ids):
        try:
            renewed += _renew_batch(chunk, now)
        except FactError:
            # One that cannot be reckoned does not keep the others from their day.
            renewed += sum(_renew_alone(pk, now) for pk in chunk)
    return renewed


def in_batches(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(ids), BATCH):
        yield ids[start : start + BATCH]


@transaction.atomic
def _renew_batch(ids: Collection[int], now: datetime) -> int:
    by_day: dict[date, list[Household]] = defaultdict(list)
    for household in Household.objects.filter(pk__in=ids).order_by("pk"):
        today = household.today(now)
        ahead = household.reckoned_on is not None and household.reckoned_on > today
        if ahead or household.next_change_on <= today:
            by_day[today].append(household)
    for today, households in by_day.items():
        renew_households(households, as_of=today)
    return sum(map(len, by_day.values()))


def _renew_alone(pk: int, now: datetime) -> int:
    try:
        return _renew_batch([pk], now)
    except FactError as error:
        log.error("household %s could not be updated: %s", pk, error)
        return 0
