"""The Celery app, what holds for every task, and the static schedule, in UTC. Which
household's hour has come is decided by the core, not here."""

import gc
import logging
import os
from typing import Any

from celery import Celery
from celery.signals import worker_init, worker_process_init, worker_ready
from django.conf import settings

from rigsite.children import die_with_parent

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")

log = logging.getLogger(__name__)

app = Celery("rigsite")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.autodiscover_tasks(["rigsite.backup"])  # no app of its own

SWEEP = "maintenance.reminders.tasks.sweep"
BACKUP = "rigsite.backup.tasks.back_up"


def every(seconds: int, task: str) -> dict[str, Any]:
    # While no worker runs, calls of the same job must not pile up.
    return {"task": task, "schedule": seconds, "options": {"expires": seconds}}


app.conf.beat_schedule = {
    "standings": every(300, "maintenance.plans.tasks.renew_standings"),
    "notices": every(300, "maintenance.reminders.tasks.raise_notices"),
    "digests": every(300, "maintenance.reminders.tasks.send_digests"),
    "sweep": every(120, SWEEP),
    "tidy": every(600, "maintenance.reminders.tasks.tidy"),
    "chain": every(120, "maintenance.service_records.tasks.link_records"),
    "packets": every(120, "maintenance.packets.tasks.sweep_packets"),
    "bringings": every(120, "maintenance.exchange.tasks.sweep_bringings"),
    "exports": every(120, "maintenance.exchange.tasks.sweep_exports"),
    "backup": every(600, BACKUP),
    "checkup": every(600, "rigsite.tasks.checkup"),
    "search": every(300, "maintenance.pages.tasks.refresh_search"),
}


def put_back_unacknowledged() -> None:
    """Hand out again at once what a killed worker had taken. Left alone, the broker
    waits for the visibility timeout. Only right where this is the one worker: another
    one's running tasks would be handed out twice. Uses kombu's insides, so kombu is
    pinned and a test kills a worker."""
    options = settings.CELERY_BROKER_TRANSPORT_OPTIONS | {"visibility_timeout": 0}
    with app.connection_for_write(transport_options=options) as connection:
        channel = connection.default_channel
        channel.client.delete(channel.unacked_mutex_key)
        channel.qos.restore_visible(num=None, interval=1)


@worker_init.connect
def share_memory(**_: Any) -> None:
    """With the process that is forked for the tasks: the collector writes into every
    object that it looks at, which ends the sharing."""
    gc.collect()
    gc.freeze()


@worker_init.connect
def take_back(**_: Any) -> None:
    if settings.OWN_BROKER:
        put_back_unacknowledged()


@worker_process_init.connect
def end_with_the_worker(**_: Any) -> None:
    """A task must not go on while the next worker runs it again."""
    die_with_parent()


@worker_ready.connect
def sweep_at_once(**_: Any) -> None:
    """So that the health page need not wait for the first beat, nor a backup, which a
    machine that is on for minutes would never get."""
    app.send_task(SWEEP, expires=120)
    app.send_task(BACKUP, expires=600)
