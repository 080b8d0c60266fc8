"""GET /health/: 200 with plain words when everything runs, else 503 with the reason.

The age of the last sweep is what counts: a worker on a half-dead connection looks
alive, runs nothing and logs no error."""

import logging
from datetime import datetime, timedelta

from django.conf import settings
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from kombu.exceptions import OperationalError
from redis.exceptions import RedisError

from maintenance.reminders.models import SweepMark
from rigsite.celery import app

log = logging.getLogger(__name__)

# The sweep runs every two minutes; a long print may hold it up for a while.
OLDEST_SWEEP = timedelta(minutes=16)

Finding = tuple[bool, str]


def database() -> Finding:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        log.warning("health: the database does not answer", exc_info=True)
        return False, "Database: does not answer."
    return True, "Database: answers."


def broker() -> Finding:
    # One try: who asks wants to know how it is now.
    options = settings.CELERY_BROKER_TRANSPORT_OPTIONS | {"max_retries": 0}
    try:
        with app.connection_for_write(transport_options=options) as link:
            link.default_channel.client.ping()
    except (OperationalError, RedisError, OSError):
        log.warning("health: the broker does not answer", exc_info=True)
        return False, "Broker: does not answer."
    return True, "Broker: answers."


def last_sweep(now: datetime) -> Finding:
    try:
        mark = SweepMark.objects.filter(name="sweep").first()
    except DatabaseError:
        return False, "Last sweep: cannot be read."
    if mark is None:
        return False, "Last sweep: none yet. The worker has not run."
    age = now - mark.at
    words = f"Last sweep: {int(age.total_seconds())} seconds ago."
    return age <= OLDEST_SWEEP, words


@never_cache
def health(request: HttpRequest) -> HttpResponse:
    findings = [database(), broker(), last_sweep(timezone.now())]
    well = all(good for good, _ in findings)
    head = "Everything runs." if well else "Something does not run."
    return HttpResponse(
        "\n".join([head, *(words for _, words in findings)]) + "\n",
        status=200 if well else 503,
        content_type="text/plain; charset=utf-8",
    )
