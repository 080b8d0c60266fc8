"""Telling the workers that a mail waits. The row is the truth, this is a hint."""

from maintenance.households.workers import call_on_commit, call_worker

from .models import Digest

SEND = "maintenance.reminders.tasks.send_digest"  # by name: tasks call services
# A call that waited longer than this is made again by a sweep.
EXPIRES = 300


def enqueue(digest_id: int) -> None:
    call_worker(SEND, digest_id, expires=EXPIRES)


def enqueue_on_commit(digest: Digest) -> None:
    call_on_commit(SEND, digest.pk, expires=EXPIRES)
