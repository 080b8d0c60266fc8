"""The jobs that belong to no single app."""

from celery import shared_task
from django.utils import timezone

from rigsite.checkup.nightly import check_once_a_day


@shared_task
def checkup() -> None:
    check_once_a_day(timezone.now())
