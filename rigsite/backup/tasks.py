"""The job of the nights: thin, over the service."""

from celery import shared_task
from django.utils import timezone

from rigsite.backup.nightly import back_up_when_due


@shared_task
def back_up() -> None:
    back_up_when_due(timezone.now())
