"""The job that links records once they can be undone no more."""

from celery import shared_task
from django.utils import timezone

from .chain.linking import link_ripe


@shared_task
def link_records() -> None:
    link_ripe(timezone.now())
