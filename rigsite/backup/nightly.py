"""Backups that happen by themselves: each night, or as soon as the program runs again;
each week what is stored is read back and the copy restored into scratch."""

import logging
from dataclasses import dataclass
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
from rigsite.backup.reading_back import ReadBack
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
    """A copy of now; when a week has passed, all that is stored is read back and the
    copy tried. What came of it is noted. Raises one of FAILURES, or what ended it."""
    try:
        _refuse_missing_disk()
        copies = Copies(nightly_folder(), settings.BACKUP_KEY)
        path = copies.make(now, weekly=_Week(now) if _week_is_over(now) else None)
    except (*FAILURES, SoftTimeLimitExceeded) as error:
        words = "It wasn't finished in time." if not str(error) else str(error)
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
            f"{folder} isn't there. If it's on another disk, connect and mount it."
        )


def is_elsewhere(path: Path) -> bool:
    """Whether it lies on another disk than the data."""
    return path.stat().st_dev != Path(settings.DATA).stat().st_dev


# --- tried ----------------------------------------------------------------------------


def _week_is_over(now: datetime) -> bool:
    last = noted.noted(noted.TRIAL)
    if last is None or not last.get("good") or last["at"] > now:
        return True
    return bool(now - last["at"] >= TRIED_EVERY)


@dataclass(frozen=True, slots=True)
class _Week:
    now: datetime

    def was_read_back(self, found: ReadBack) -> None:
        if not found.count:  # this is the first copy
            return
        if not found.good:
            log.error("stored backups: %s", found.words)
        noted.note(noted.STORED, now=self.now, good=found.good, words=found.words)

    def is_good(self, copy: Path) -> bool:
        source = Source(copy, live=Path(settings.MEDIA_ROOT), linked=True)
        try:
            done = try_backup(source, as_made=True)
        except FAILURES as error:
            log.warning("a backup did not open", exc_info=True)
            noted.note(noted.TRIAL, now=self.now, good=False, words=str(error))
            return False
        said = {"good": True, "words": done.words, "doubts": done.doubts}
        noted.note(noted.TRIAL, now=self.now, **said)
        return True
