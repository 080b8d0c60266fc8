"""Telling the workers that a mail waits. The row is the truth, this is a hint."""

import logging

from celery import current_app
from django.db import transaction
from kombu.exceptions import OperationalError

from .models import Digest

log = logging.getLogger(__name__)

SEND = "maintenance.reminders.tasks.send_digest"  # by name: tasks call services
# A call that waited longer than this is made again by a sweep.
EXPIRES = 300


def enqueue(digest_id: int) -> None:
    try:
        current_app.send_task(SEND, args=[digest_id], expires=EXPIRES)
    except OperationalError:
        log.warning("mail %s: the broker does not answer", digest_id)


def enqueue_on_commit(digest: Digest) -> None:
    transaction.on_commit(lambda: enqueue(digest.pk))
