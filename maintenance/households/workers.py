"""Calling the workers. A row in the database is the truth, the call is a hint: without
a broker the row stays, and a sweep takes it some minutes later."""

import contextlib
import logging
from collections.abc import Iterator
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from celery import current_app
from django.db import transaction
from kombu.exceptions import OperationalError

log = logging.getLogger(__name__)

TELL = "maintenance.reminders.tasks.tell_at_once"
SOON = 300  # seconds; the sweep of notices comes sooner than a later worker


_NOBODY = ContextVar("nobody is called", default=False)


@contextlib.contextmanager
def nobody_called() -> Iterator[None]:
    """For work on rows that no worker sees: those of a copy, apart from the database
    in use."""
    before = _NOBODY.set(True)
    try:
        yield
    finally:
        _NOBODY.reset(before)


def call_worker(task: str, *args: Any, **options: Any) -> None:
    """Have a task run, named since tasks call services and not the other way round."""
    if _NOBODY.get():
        return
    try:
        current_app.send_task(task, args=list(args), **options)
    except OperationalError:
        log.warning("%s %s: the broker does not answer", task, args)


@dataclass(frozen=True, slots=True)
class _Call:
    task: str
    args: tuple[Any, ...]
    expires: int | None

    def __call__(self) -> None:
        options = {} if self.expires is None else {"expires": self.expires}
        call_worker(self.task, *self.args, **options)


def call_on_commit(task: str, *args: Any, expires: int | None = None) -> None:
    """Once, however often it is asked for in one transaction."""
    call = _Call(task, args, expires)
    if all(asked[1] != call for asked in transaction.get_connection().run_on_commit):
        transaction.on_commit(call)


def ask_to_tell(household_id: int) -> None:
    """Have told at once what safety asks for now. Whoever changes what a rig needs or
    whether it may travel asks so, through whatever door it came."""
    call_on_commit(TELL, household_id, expires=SOON)
