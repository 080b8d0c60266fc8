"""Jobs: bring a file in, and look for those that wait."""

from celery import shared_task

from maintenance.jobs.services import run, sweep

from . import running
from .models import ImportJob


@shared_task
def bring_in(bringing_id: int) -> None:
    run(ImportJob, bringing_id, running.bring_in)


@shared_task
def sweep_bringings() -> None:
    sweep(ImportJob)
