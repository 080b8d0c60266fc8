"""Jobs: bring a file in, take everything out, and look for those that wait."""

from celery import shared_task

from maintenance.jobs.services import run, sweep

from . import previews, running
from .exports import making
from .models import ExportJob, ImportJob


@shared_task
def bring_in(bringing_id: int) -> None:
    run(ImportJob, bringing_id, running.bring_in)


@shared_task
def preview(bringing_id: int) -> None:
    run(ImportJob, bringing_id, previews.make_preview)


@shared_task
def sweep_bringings() -> None:
    sweep(ImportJob)
    previews.remove_old()


@shared_task
def make_export(export_id: int) -> None:
    run(ExportJob, export_id, making.make_export)


@shared_task
def sweep_exports() -> None:
    sweep(ExportJob)
    making.remove_old()
