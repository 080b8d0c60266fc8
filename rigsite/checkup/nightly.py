"""What the worker does once a day: everything is checked, and orphaned files go."""

import logging
from datetime import datetime, timedelta

from celery.exceptions import SoftTimeLimitExceeded

from maintenance.reminders.services import clock_is_trusted

from .files import sweep_orphans
from .finding import Finding, Level
from .thorough import note, noted_at, thorough

log = logging.getLogger(__name__)

EVERY = timedelta(hours=20)


def check_once_a_day(now: datetime) -> bool:
    """Whether it was time."""
    last = noted_at()
    if last is not None and timedelta() <= now - last < EVERY:
        return False
    try:
        findings = thorough()
    except SoftTimeLimitExceeded:
        words = "wasn't finished in time. Run: manage.py checkup"
        findings = [Finding("Thorough check", words, Level.WARNING)]
    for finding in findings:
        if not finding.good:
            log.error("checkup: %s", finding)
    note(findings, now)
    if clock_is_trusted(now):
        log.info("checkup: %s orphaned files removed", sweep_orphans(now))
    return True
