"""Jobs: bring a file in, and look for those that wait."""

from celery import shared_task

from maintenance.jobs.services import sweep

from . import running
from .models import Bringing


@shared_task
def bring_in(bringing_id: int) -> None:
    rows = Bringing.objects.select_related("rig__household", "begun_by")
    bringing = rows.filter(pk=bringing_id).first()
    if bringing is not None:
        running.bring_in(bringing, today=bringing.rig.household.today())


@shared_task
def sweep_bringings() -> None:
    sweep(Bringing)
