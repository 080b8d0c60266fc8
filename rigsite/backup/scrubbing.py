"""What a backup does not carry: whatever opens a door by itself. A copy of the database
is rid of it, and of all that was deleted and still lay in free pages."""

import contextlib
import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from secrets import token_urlsafe

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.apps import apps
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db.models import Model

from maintenance.households.models import OneTimeLink
from maintenance.reminders.models import CalendarFeed, Digest

# The addresses in mails that act without a login (`reminders/urls.py`).
SIGNED = re.compile(r"(/(?:answer/\w+|mail/stop)/)[^/\s\"'<>]+")
GONE = r"\1gone"


def emptied() -> Iterator[type[Model]]:
    """The tables that a copy has without rows: logins, links that let somebody in, and
    who tried to log in."""
    yield from (AccessAttempt, AccessFailureLog, AccessLog, OneTimeLink)
    for model in apps.get_models():
        if issubclass(model, AbstractBaseSession):
            yield model


def scrub_rows() -> None:
    """In the database in use, which is a copy."""
    for model in emptied():
        model._base_manager.all().delete()
    for feed in CalendarFeed.objects.all():
        feed.secret = token_urlsafe(32)  # opens nothing: no other database knows it
        feed.save(update_fields=["secret"])
    for mail in Digest.objects.exclude(text="").iterator():
        text, html = SIGNED.sub(GONE, mail.text), SIGNED.sub(GONE, mail.html)
        if (text, html) != (mail.text, mail.html):
            Digest.objects.filter(pk=mail.pk).update(text=text, html=html)


def vacuum(copy: Path) -> None:
    """Write it anew, in one file: whoever opens it needs no second one beside, and
    nothing deleted is left."""
    with contextlib.closing(sqlite3.connect(copy)) as database:
        database.execute("PRAGMA journal_mode=DELETE")
        database.execute("VACUUM")
