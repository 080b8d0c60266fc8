"""Asking for the ZIP of everything, making it, and removing what has lain here long."""

import time
from datetime import date, timedelta
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from maintenance.disk import make_folder, put_in_place
from maintenance.exchange.models import ExportJob, ExportState
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Household, Member, Role
from maintenance.jobs.lease import Claim, Stopped
from maintenance.jobs.services import call_waiting, enqueue, stop_job

from .archive import write_archive

KEPT = timedelta(days=1)
TELL_EVERY = 0.7  # seconds


def path_of(job: ExportJob) -> Path:
    return Path(settings.MEDIA_ROOT) / "exports" / f"{job.key.hex}.zip"


@transaction.atomic
def ask_for_export(household: Household, *, by: Member) -> ExportJob:
    """A row that a worker takes; while one of the household is in work, that one."""
    require(by, Role.KEEPER)
    Household.objects.select_for_update().get(pk=household.pk)
    in_work = ExportJob.objects.in_work().filter(household=household).first()
    if in_work is not None:
        return in_work
    job = ExportJob.objects.create(household=household, asked_by=by)
    note_activity(by, "exported everything", household.name)
    enqueue(job)
    return job


def stop_export(job: ExportJob, *, by: Member) -> None:
    require(by, Role.KEEPER)
    stop_job(job, by=by)
    note_activity(by, "stopped an export", job.household.name)


def make_export(job: ExportJob, *, today: date) -> None:
    claim = Claim.take(job, done=0, total=0)
    if claim is not None:
        with claim.at_work():
            _make(claim)
    call_waiting(ExportJob)


def _make(claim: Claim[ExportJob]) -> None:
    job, path = claim.job, path_of(claim.job)
    told = 0.0

    def tell(done: int, total: int) -> None:
        nonlocal told
        if time.monotonic() - told < TELL_EVERY:
            return
        told = time.monotonic()
        if not claim.keep(done=done, total=total):
            raise Stopped

    make_folder(path.parent)
    half = path.with_suffix(".half")
    try:
        with half.open("wb") as out:
            by = job.asked_by.name if job.asked_by else ""
            now = timezone.now()
            write_archive(job.household, out, made_by=by, now=now, tell=tell)
        put_in_place(half, path)
    finally:
        half.unlink(missing_ok=True)
    claim.end(ExportState.READY, size=path.stat().st_size)


def remove_old() -> None:
    """Those that are over, a day after they were asked for, with their file."""
    old = ExportJob.objects.filter(asked_at__lt=timezone.now() - KEPT)
    for job in old.exclude(state__in=ExportJob.in_work_states()):
        path_of(job).unlink(missing_ok=True)
        job.delete()
