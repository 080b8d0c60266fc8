"""The job of a new day."""

from celery import shared_task
from django.utils import timezone

from .day_change import renew_behind


@shared_task
def renew_standings() -> None:
    renew_behind(timezone.now())
