"""Calling the workers for a long job, running and stopping one, looking for those that
wait."""

from collections.abc import Callable

from maintenance.households.access import require
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.households.workers import call_on_commit, call_worker

from .lease import MOST_TRIES
from .models import J, LongJob


def enqueue(job: LongJob) -> None:
    """Once what is being changed is in the database."""
    call_on_commit(job.TASK, job.pk)


def run(kind: type[J], pk: int, work: Callable[..., None]) -> None:
    """What a task does: `work(job, today=…)`, unless the job was removed meanwhile."""
    job = kind.objects.with_household().filter(pk=pk).first()
    if job is not None:
        work(job, today=job.its_household().today())


def call_waiting(kind: type[LongJob]) -> None:
    for job in kind.objects.waiting()[: kind.CALLED_AT_ONCE]:
        call_worker(kind.TASK, job.pk)


def sweep(kind: type[LongJob]) -> None:
    """Give up what killed its workers, and call again for the others that wait."""
    lost = kind.objects.waiting().filter(tries__gte=MOST_TRIES)
    lost.update(**kind.ending(kind.FAILED, kind.GIVEN_UP))
    call_waiting(kind)


def stop_job(job: LongJob, *, by: Member) -> None:
    """Nobody wants it any more; who works on it finds its claim lost."""
    require(by, Role.CREW)
    in_work = type(job).objects.in_work().filter(pk=job.pk)
    if not in_work.update(**job.ending(job.STOPPED)):
        raise Refused(job.NOTHING_TO_STOP)
