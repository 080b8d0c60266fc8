"""Checks that cost next to nothing, for every look at a page."""

import logging
import os
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db import OperationalError as NotOpened
from kombu.exceptions import OperationalError
from redis.exceptions import RedisError

from maintenance.households.models import Household
from maintenance.reminders.models import StoppedAddress, SweepMark
from maintenance.reminders.queries import last_sent_at, oldest_waiting
from maintenance.reminders.services import clock_in_doubt
from rigsite.backup.telling import ago, tell_of_backups
from rigsite.celery import app
from rigsite.paths import SHORTEST_SECRET, log_file, secret_was_lost
from rigsite.upgrade import database_made_at

from .backups import backup_of
from .finding import Finding, Level

log = logging.getLogger(__name__)

# The sweep runs every two minutes; a long print may hold it up for a while.
OLDEST_SWEEP = timedelta(minutes=16)
OLDEST_MAIL = timedelta(hours=6)
WITHOUT_BACKUP = timedelta(days=2)
LOST_SECRET_SAID = timedelta(days=30)
# Bytes. Below the first, photos are refused (vehicles/uploads.py); below the second,
# nothing may be stored any more.
FEW_FREE, LEAST_FREE = 200_000_000, 20_000_000


def running(now: datetime) -> list[Finding]:
    """What must be well for anything to run."""
    return [database(), broker(), last_sweep(now)]


def kept(now: datetime) -> list[Finding]:
    """Whether what is entered stays."""
    return [disk(), data_folder(), log_is_kept(), secret(now), *backups(now)]


def on_its_way(now: datetime, household: Household | None = None) -> list[Finding]:
    """Whether people are reached; `household` None: those of all."""
    return [clock(), last_mail(now), mail_waiting(now), addresses(household)]


def database() -> Finding:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError as error:
        reason = (str(error) or "no reason given").splitlines()[0]
        log.warning("the database does not answer: %s", reason)
        # The page /health/ is for everybody: reasons and folders are not. What cannot
        # be opened may be well; what cannot be read is not.
        away = isinstance(error, NotOpened)
        details = (reason,) if away else (reason, backup_of())
        return Finding("Database", "isn't answering.", Level.BROKEN, details)
    return Finding("Database", "answers.")


def broker() -> Finding:
    # One try: who asks wants to know how it is now.
    options = settings.CELERY_BROKER_TRANSPORT_OPTIONS | {"max_retries": 0}
    try:
        with app.connection_for_write(transport_options=options) as link:
            channel = link.default_channel
            if hasattr(channel, "client"):  # the one in memory has nobody to ask
                channel.client.ping()
    except (OperationalError, RedisError, OSError) as error:
        log.warning("the broker does not answer: %s", error)
        words = "isn't answering. Nothing is sent or printed: start Rigsite again."
        return Finding("Broker", words, Level.BROKEN)
    return Finding("Broker", "answers.")


def last_sweep(now: datetime) -> Finding:
    what = "Last sweep"
    try:
        mark = SweepMark.objects.filter(name="sweep").first()
    except DatabaseError:
        return Finding(what, "can't be read.", Level.BROKEN)
    if mark is None:
        words = "none yet. The worker hasn't run: start Rigsite."
        return Finding(what, words, Level.BROKEN)
    age = max(now - mark.at, timedelta())  # ahead: by a clock that was set back since
    words = f"{int(age.total_seconds())} seconds ago."
    if age > OLDEST_SWEEP:
        words += (
            " The worker is stuck, even if its process is there: start Rigsite again."
        )
        return Finding(what, words, Level.BROKEN)
    return Finding(what, words)


def disk() -> Finding:
    free = shutil.disk_usage(_there(Path(settings.DATA))).free
    words = f"{free / 1e9:.1f} GB free."
    if free < LEAST_FREE:
        words = f"{free / 1e6:.0f} MB free. Make room now: nothing may be saved."
        return Finding("Disk", words, Level.BROKEN)
    if free < FEW_FREE:
        words = (
            f"{free / 1e6:.0f} MB free. Make room: photos and documents may be refused."
        )
        return Finding("Disk", words, Level.WARNING)
    return Finding("Disk", words)


def data_folder() -> Finding:
    folders = (settings.DATA, settings.MEDIA_ROOT)
    closed = [each for each in folders if not os.access(_there(Path(each)), os.W_OK)]
    if closed:
        words = (
            f"{closed[0]} is read-only. Make it belong to the user that runs "
            "Rigsite, or mount its disk for writing."
        )
        return Finding("Data folder", words, Level.BROKEN)
    return Finding("Data folder", f"{settings.DATA}.")


def _there(path: Path) -> Path:
    return next(each for each in (path, *path.parents) if each.exists())


def log_is_kept() -> Finding:
    """Where `start` runs the program; elsewhere whoever runs it keeps what it says."""
    path = log_file(Path(settings.DATA))
    if path.exists() and not (path.is_file() and os.access(path, os.W_OK)):
        words = (
            f"{path} can't be written. Make it belong to the user that runs Rigsite."
        )
        return Finding("Log", words, Level.WARNING)
    return Finding("Log", "can be written.")


def secret(now: datetime) -> Finding:
    if len(settings.SECRET_KEY) < SHORTEST_SECRET:
        words = (
            "too short, so logins and links could be forged. Set SECRET_KEY "
            "to 50 random characters, or unset it."
        )
        return Finding("Secret", words, Level.BROKEN)
    lost = secret_was_lost(Path(settings.DATA))
    if lost is not None and now - lost < LOST_SECRET_SAID:
        words = (
            f"its file was empty, and a new one was made {ago(lost, now)}. "
            "Everyone must log in again, and links in older email no longer "
            "work. Check the disk."
        )
        return Finding("Secret", words, Level.WARNING)
    return Finding("Secret", "is set.")


def backups(now: datetime) -> list[Finding]:
    """A new database has no copies yet: its first night makes one."""
    made = database_made_at()
    is_new = made is not None and now - made < WITHOUT_BACKUP
    return [
        Finding(what, words, Level.FINE if good or is_new else Level.WARNING)
        for what, good, words in tell_of_backups(now)
    ]


def clock() -> Finding:
    if clock_in_doubt() is None:
        return Finding("Clock", "hasn't jumped.")
    words = (
        "the computer's clock jumped, so daily email waits until you check "
        "the date. At the terminal: manage.py confirm_clock"
    )
    return Finding("Clock", words, Level.WARNING, page="clock")


def last_mail(now: datetime) -> Finding:
    sent = last_sent_at()
    return Finding("Last email sent", f"{ago(sent, now)}." if sent else "never.")


def mail_waiting(now: datetime) -> Finding:
    count, oldest = oldest_waiting()
    if oldest is None:
        return Finding("Email waiting", "none.")
    words = (
        f"{count}, the oldest since {ago(oldest, now)}. See Outgoing mail for the "
        "reason."
    )
    late = now - oldest > OLDEST_MAIL
    level = Level.WARNING if late else Level.FINE
    return Finding("Email waiting", words, level, page="mail")


def addresses(household: Household | None) -> Finding:
    rows = StoppedAddress.objects.all()
    stopped = (rows if household is None else rows.filter(household=household)).count()
    if not stopped:
        return Finding("Addresses", "none refused.")
    words = f"{stopped} refused for good by a mail server. Correct it under Reminders."
    return Finding("Addresses", words, Level.WARNING, page="mail")


def answered(check: Callable[[], list[Finding]]) -> list[Finding]:
    """What a group of checks says; nothing where the database, which is a check of its
    own, does not answer."""
    try:
        return check()
    except DatabaseError:
        return []
