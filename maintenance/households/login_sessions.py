"""Who is logged in with which browser: the session engine of the settings.

Rows say whose they are, with which browser, and when it was last seen, so that people
can look and log out elsewhere. What a row says is copied from its session each time it
is stored.
"""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any, cast

from django.contrib.auth import SESSION_KEY
from django.contrib.auth.models import User
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import salted_hmac

from .models import LoginSession

SEEN_EVERY = timedelta(hours=1)  # more often, each page would cost a write
# The first that fits; each also names those below it.
BROWSERS = (
    ("Edge", r"Edg(?:e|A|iOS)?/"),
    ("Opera", r"OPR/"),
    ("Samsung Internet", r"SamsungBrowser/"),
    ("Firefox", r"(?:Firefox|FxiOS)/"),
    ("Chrome", r"(?:Chrome|CriOS)/"),
    ("Safari", r"Safari/"),
)
SYSTEMS = (
    ("an iPhone", r"iPhone"),
    ("an iPad", r"iPad"),
    ("Android", r"Android"),
    ("Windows", r"Windows"),
    ("a Chromebook", r"CrOS"),
    ("a Mac", r"Macintosh"),
    ("Linux", r"Linux"),
)


class SessionStore(DatabaseStore):
    """Of this name, so that sessions of the framework's own engine still read."""

    @classmethod
    def get_model_class(cls) -> type[LoginSession]:
        return LoginSession

    def create_model_instance(self, data: Mapping[str, Any]) -> LoginSession:
        row = cast(LoginSession, super().create_model_instance(dict(data)))
        row.user_id = data.get(SESSION_KEY)
        row.device = data.get("device", "")
        if seen := data.get("seen"):
            row.seen_at = datetime.fromisoformat(seen)
        return row


def note_seen(request: HttpRequest) -> None:
    """Once an hour, also where the clock was set back; it also puts off the end of a
    session in use."""
    session, now = request.session, timezone.now()
    seen = session.get("seen")
    if seen and abs(now - datetime.fromisoformat(seen)) < SEEN_EVERY:
        return
    session["seen"] = now.isoformat()
    session["device"] = device_words(request.headers.get("user-agent", ""))


def device_words(agent: str) -> str:
    """“Firefox on Android”, from what the browser says of itself."""
    browser = _first(BROWSERS, agent) or "A browser"
    system = _first(SYSTEMS, agent)
    return f"{browser} on {system}" if system else browser


def _first(named: Iterable[tuple[str, str]], agent: str) -> str:
    return next((name for name, mark in named if re.search(mark, agent)), "")


def sessions_of(user: User) -> "QuerySet[LoginSession]":
    rows = LoginSession.objects.filter(user=user, expire_date__gt=timezone.now())
    return rows.order_by("-seen_at")


def handle_of(row: LoginSession) -> str:
    """By what a page names a session, whose key is a secret."""
    return salted_hmac(__name__, row.session_key, algorithm="sha256").hexdigest()[:20]


def log_out_everywhere(user: User, *, but: str | None = None) -> int:
    """End a person's sessions, `but` the one of that key; how many."""
    return sessions_of(user).exclude(session_key=but).delete()[0]


def forget_ended(now: datetime) -> int:
    return LoginSession.objects.filter(expire_date__lt=now).delete()[0]
