"""How the program is, in words: GET /health/ answers 200, or 503 with the reason; the
page Status says the same and more to the founder.

The age of the last sweep is what counts: a worker on a half-dead connection looks
alive, runs nothing and logs no error."""

import logging
import shutil
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib import messages
from django.db import DatabaseError, connection
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.timesince import timesince
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST
from kombu.exceptions import OperationalError
from redis.exceptions import RedisError

from maintenance.households.access import HouseholdRequest, founder_required
from maintenance.households.activity import note_activity
from maintenance.reminders.models import SweepMark
from maintenance.reminders.queries import last_sent_at, oldest_waiting
from rigsite.backup.downloading import backup_to_download
from rigsite.backup.nightly import FAILURES
from rigsite.backup.telling import tell_of_backups
from rigsite.celery import app

log = logging.getLogger(__name__)

# The sweep runs every two minutes; a long print may hold it up for a while.
OLDEST_SWEEP = timedelta(minutes=16)
OLDEST_MAIL = timedelta(hours=6)
LEAST_FREE = 200_000_000  # bytes; SQLite needs room to write at all


@dataclass(frozen=True, slots=True)
class Finding:
    what: str
    good: bool
    words: str

    def __str__(self) -> str:
        return f"{self.what}: {self.words}"


def database() -> Finding:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        log.warning("health: the database does not answer", exc_info=True)
        return Finding("Database", False, "does not answer.")
    return Finding("Database", True, "answers.")


def broker() -> Finding:
    # One try: who asks wants to know how it is now.
    options = settings.CELERY_BROKER_TRANSPORT_OPTIONS | {"max_retries": 0}
    try:
        with app.connection_for_write(transport_options=options) as link:
            channel = link.default_channel
            if hasattr(channel, "client"):  # the one in memory has nobody to ask
                channel.client.ping()
    except (OperationalError, RedisError, OSError):
        log.warning("health: the broker does not answer", exc_info=True)
        return Finding("Broker", False, "does not answer.")
    return Finding("Broker", True, "answers.")


def last_sweep(now: datetime) -> Finding:
    what = "Last sweep"
    try:
        mark = SweepMark.objects.filter(name="sweep").first()
    except DatabaseError:
        return Finding(what, False, "cannot be read.")
    if mark is None:
        return Finding(what, False, "none yet. The worker has not run.")
    age = now - mark.at
    words = f"{int(age.total_seconds())} seconds ago."
    if age > OLDEST_SWEEP:
        words += " The worker runs nothing, even if its process is there: start again."
    return Finding(what, age <= OLDEST_SWEEP, words)


def disk() -> Finding:
    free = shutil.disk_usage(settings.DATA).free
    words = f"{free / 1e9:.1f} GB free."
    if free < LEAST_FREE:
        words += " Make room: without it nothing can be stored."
    return Finding("Disk", free >= LEAST_FREE, words)


def mail_waiting(now: datetime) -> Finding:
    count, oldest = oldest_waiting()
    if oldest is None:
        return Finding("Mail waiting", True, "none.")
    words = f"{count}, the oldest since {_ago(oldest, now)}. The page Mail says why."
    return Finding("Mail waiting", now - oldest <= OLDEST_MAIL, words)


def last_mail(now: datetime) -> Finding:
    sent = last_sent_at()
    return Finding("Last mail sent", True, f"{_ago(sent, now)}." if sent else "never.")


def backups(now: datetime) -> list[Finding]:
    return [Finding(*told) for told in tell_of_backups(now)]


def _ago(moment: datetime, now: datetime) -> str:
    return f"{timesince(moment, now, depth=1)} ago".replace("\xa0", " ")


def running(now: datetime) -> list[Finding]:
    """What must be well for anything to run."""
    return [database(), broker(), last_sweep(now), disk()]


@never_cache
def health(request: HttpRequest) -> HttpResponse:
    findings = running(timezone.now())
    well = all(finding.good for finding in findings)
    head = "Everything runs." if well else "Something does not run."
    return HttpResponse(
        "\n".join([head, *map(str, findings)]) + "\n",
        status=200 if well else 503,
        content_type="text/plain; charset=utf-8",
    )


@never_cache
@founder_required
def status(request: HouseholdRequest) -> HttpResponse:
    """The same for the founder, with what is on its way and what is kept safe."""
    now = timezone.now()
    findings = running(now)
    if findings[0].good:
        findings += [last_mail(now), mail_waiting(now), *backups(now)]
    wrong = [finding for finding in findings if not finding.good]
    context = {"findings": findings, "wrong": wrong}
    return render(request, "rigsite/status.html", context)


@never_cache
@require_POST
@founder_required
def download_backup(request: HouseholdRequest) -> HttpResponseBase:
    """All that the program keeps, of every household: for whoever looks after it."""
    try:
        file, name = backup_to_download(timezone.now())
    except FAILURES as error:
        messages.error(request, f"No backup was made. {error}")
        return redirect("status")
    note_activity(request.member, "downloaded a backup", name)
    return FileResponse(file, as_attachment=True, filename=name)
