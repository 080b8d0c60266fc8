"""Backups that happen by themselves: each night, or as soon as the program runs again;
each week the copy is restored into scratch."""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.db import DatabaseError

from maintenance.households.models import Household
from rigsite.backup import noted
from rigsite.backup.copies import Copies, nightly_folder
from rigsite.backup.making import BackupError
from rigsite.backup.restoring import try_backup
from rigsite.backup.sealing import SealError
from rigsite.backup.unpacking import Source
from rigsite.upgrade import UpgradeError

log = logging.getLogger(__name__)

HOUR = 2  # local; nobody is at it then
TRIED_EVERY = timedelta(days=7)
# Until the next attempt after one that failed.
PAUSE = timedelta(hours=1)
FAILURES = (BackupError, UpgradeError, SealError, OSError, DatabaseError)


def back_up_when_due(now: datetime) -> None:
    """What the schedule calls every few minutes."""
    household = Household.objects.order_by("is_demo", "pk").first()
    if household is None or not is_due(now, household.zone):
        return
    try:
        back_up(now)
    except (*FAILURES, SoftTimeLimitExceeded):
        log.warning("no backup was made", exc_info=True)


def is_due(now: datetime, zone: ZoneInfo) -> bool:
    problem = noted.noted(noted.PROBLEM)
    if problem and timedelta(0) <= now - problem["at"] < PAUSE:
        return False
    last = noted.noted(noted.NIGHTLY)
    # A moment ahead of the clock is none: the clock was ahead.
    return last is None or last["at"] > now or last["at"] < _night_before(now, zone)


def _night_before(now: datetime, zone: ZoneInfo) -> datetime:
    local = now.astimezone(zone)
    night = local.replace(hour=HOUR, minute=0, second=0, microsecond=0)
    return night if night <= local else night - timedelta(days=1)


def back_up(now: datetime) -> Path:
    """A copy of now, tried when a week has passed since one was; what came of it is
    noted. Raises one of FAILURES, or what ended it."""
    try:
        _refuse_missing_disk()
        copies = Copies(nightly_folder(), settings.BACKUP_KEY)
        path = copies.make(now, try_it=_trial(now) if _trial_is_due(now) else None)
    except (*FAILURES, SoftTimeLimitExceeded) as error:
        words = "It was not done in time." if not str(error) else str(error)
        noted.note(noted.PROBLEM, now=now, words=words)
        raise
    for what in (noted.NIGHTLY, noted.BACKUP):
        noted.note(what, now=now, path=str(path))
    if is_elsewhere(path):
        noted.note(noted.ELSEWHERE, now=now, path=str(path))
    noted.forget(noted.PROBLEM)
    return path


def _refuse_missing_disk() -> None:
    """A disk that is not mounted leaves an empty folder, on the disk of the data."""
    last = noted.noted(noted.NIGHTLY)
    folder = nightly_folder()
    if last and Path(last["path"]).parent == folder and not folder.exists():
        raise BackupError(
            f"{folder} is not there. If it is on another disk, connect and mount it."
        )


def is_elsewhere(path: Path) -> bool:
    """Whether it lies on another disk than the data."""
    return path.stat().st_dev != Path(settings.DATA).stat().st_dev


# --- tried ----------------------------------------------------------------------------


def _trial_is_due(now: datetime) -> bool:
    last = noted.noted(noted.TRIAL)
    if last is None or not last.get("good") or last["at"] > now:
        return True
    return bool(now - last["at"] >= TRIED_EVERY)


def _trial(now: datetime) -> Callable[[Path], bool]:
    def try_it(path: Path) -> bool:
        source = Source(path, live=Path(settings.MEDIA_ROOT), linked=True)
        try:
            done = try_backup(source, as_made=True)
        except FAILURES as error:
            log.warning("a backup did not open", exc_info=True)
            noted.note(noted.TRIAL, now=now, good=False, words=str(error))
            return False
        noted.note(
            noted.TRIAL, now=now, good=True, words=done.words, doubts=done.doubts
        )
        return True

    return try_it
