"""The job that keeps the texts of the search, so that no search has to wait for it."""

from celery import shared_task
from django.utils import timezone

from .search.index import refresh_all


@shared_task
def refresh_search() -> None:
    refresh_all(timezone.now())
