"""Jobs: thin, over the services, each also a command of the same name."""

from celery import shared_task
from django.utils import timezone

from maintenance.households.models import Household
from maintenance.plans.day_change import in_batches

from . import services
from .models import Digest
from .queue import EXPIRES


@shared_task
def raise_notices() -> None:
    """One batch is done here; more are shared out among the workers."""
    now = timezone.now()
    batches = list(in_batches(services.to_look_at(now)))
    for ids in batches[1:]:
        raise_some_notices.apply_async([ids], expires=EXPIRES)
    for ids in batches[:1]:
        services.raise_for(ids, now)


@shared_task
def raise_some_notices(household_ids: list[int]) -> None:
    services.raise_for(household_ids, timezone.now())


@shared_task
def tell_at_once(household_id: int) -> None:
    household = Household.objects.filter(pk=household_id).first()
    if household is not None:
        services.tell_now(household, timezone.now())


@shared_task
def send_digests() -> None:
    """By a clock in doubt the daily mail waits; what safety asks for does not."""
    now = timezone.now()
    if services.clock_is_trusted(now):
        services.make_digests(now)
    else:
        services.make_urgent_mails(now)


@shared_task
def send_digest(digest_id: int) -> None:
    digest = Digest.objects.filter(pk=digest_id).first()
    if digest is not None:
        services.send_digest(digest)


@shared_task
def sweep() -> None:
    services.sweep(timezone.now())


@shared_task
def tidy() -> None:
    now = timezone.now()
    if services.clock_is_trusted(now):  # else what is young looks old
        services.tidy_once_a_day(now)
