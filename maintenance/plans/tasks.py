"""The job of a new day."""

from celery import shared_task
from django.utils import timezone

from .day_change import behind, in_batches, renew_some

# A share that no worker took by then is found again by the next beat.
EXPIRES = 300


@shared_task
def renew_standings() -> None:
    """One batch is done here; more are shared out among the workers."""
    now = timezone.now()
    batches = list(in_batches(behind(now)))
    for ids in batches[1:]:
        renew_some_standings.apply_async([ids], expires=EXPIRES)
    for ids in batches[:1]:
        renew_some(ids, now)


@shared_task
def renew_some_standings(household_ids: list[int]) -> None:
    renew_some(household_ids, timezone.now())
