"""The verdicts on all rows of a file before it comes in. Those of a short file are
reached as its page is shown; those of a long one, which takes seconds, by the worker
for long jobs, and kept meanwhile, outside what backups hold. What comes in is judged
again."""

import hashlib
import json
import logging
import pickle  # nosec B403
import time
from datetime import date
from pathlib import Path

from django.conf import settings

from maintenance.core.tables import TableError
from maintenance.disk import put_file
from maintenance.households.workers import call_worker
from maintenance.jobs.slot import one_at_a_time

from .imports.files import path_of
from .imports.verdicts import Judged, judge
from .models import ImportJob

log = logging.getLogger(__name__)

TASK = "maintenance.exchange.tasks.preview"
READING = "reading"  # the slot for what is read or judged while a page waits
LONG = 300_000  # bytes of a kept table, some 3,000 rows
KEPT_FOR = 24 * 3600  # seconds
ASKED_FOR = 60  # seconds; the page asks again while it waits


def preview_of(job: ImportJob, *, today: date) -> Judged | None:
    """None: a worker is at it. `TableError` says why there is none."""
    if (kept := _kept(job, today)) is not None:
        return kept
    if not _is_long(job):
        with one_at_a_time(READING):
            return judge(job, today=today)
    call_worker(TASK, job.pk, expires=ASKED_FOR)
    return None


def make_preview(job: ImportJob, *, today: date) -> None:
    """Nothing where it is kept already: it is asked for again and again."""
    if _kept(job, today) is None:
        try:
            with job.rig.household.at_home():
                judged = judge(job, today=today)
        except TableError:
            log.info("import %s: its table is gone", job.pk)
            return
        put_file(_file(job, today), pickle.dumps(judged))


def remove_old(kept_for: float = KEPT_FOR) -> None:
    for file in _folder().glob("*"):
        if time.time() - file.stat().st_mtime >= kept_for:
            file.unlink(missing_ok=True)


def _is_long(job: ImportJob) -> bool:
    try:
        return path_of(job).stat().st_size > LONG
    except FileNotFoundError:
        return False  # judging says so in words


def _kept(job: ImportJob, today: date) -> Judged | None:
    try:
        data = _file(job, today).read_bytes()
    except FileNotFoundError:
        return None
    # Our own file, which nobody can send.
    return pickle.loads(data)  # noqa: S301  # nosec B301


def _file(job: ImportJob, today: date) -> Path:
    """Named by all that it depends on, so that it is not found when that changes."""
    newest = job.rig.household.activity.values_list("pk", flat=True).first()
    names = ("columns", "day_order", "decimal_comma", "distance_unit", "jobs", "added")
    said = json.dumps(
        [today.isoformat(), newest, *(getattr(job, name) for name in names)]
    )
    digest = hashlib.sha256(said.encode()).hexdigest()[:16]
    return _folder() / f"{job.key.hex}-{digest}"


def _folder() -> Path:
    return Path(settings.DATA) / "previews"
