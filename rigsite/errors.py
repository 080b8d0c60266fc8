"""Error pages: the template of that number, or plain words where even that fails."""

import errno
import logging
import sys

from django.core.exceptions import (
    RequestDataTooBig,
    TooManyFieldsSent,
    TooManyFilesSent,
)
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from maintenance.households.refusals import Missing
from maintenance.vehicles.uploads import free_bytes

log = logging.getLogger(__name__)

WORDS = {
    400: "This request couldn't be understood. Go back and try again.",
    403: "Your role doesn't allow this. Ask a keeper.",
    404: "This page doesn't exist, or you don't have access to it.",
    413: (
        "A form can hold up to 2 MB of text. Nothing was saved. Go back and "
        "send less, or send a long list as a file."
    ),
    503: (
        "The database isn't answering right now. Nothing was saved. Go back "
        "and try again. If it keeps happening, run manage.py checkup on the "
        "computer that runs Rigsite."
    ),
    500: "Something went wrong. It has been logged, and none of your records are lost.",
}
DISK_FULL = (
    "The disk of the computer that runs Rigsite is full. Nothing was saved. "
    "Make room there, then go back and send the form again: what you typed is "
    "still in it."
)
READ_ONLY = (
    "The data folder is read-only. Nothing was saved. Make it writable "
    "(manage.py checkup says how), then go back and send the form again."
)
DAMAGED = (
    "The database is damaged. Nothing was saved. Stop Rigsite and run "
    "manage.py checkup on its computer: it names the newest good backup and "
    "how to restore it."
)
# What SQLite says, and what that means for whoever reads the page.
OF_SQLITE = (
    ("disk is full", DISK_FULL),
    ("readonly database", READ_ONLY),
    ("malformed", DAMAGED),
    ("not a database", DAMAGED),
    ("no such table", DAMAGED),
)
LEAST_TO_WRITE = 1_000_000  # bytes; any form needs less
NO_ROOM = {errno.ENOSPC, errno.EDQUOT}
TOO_MUCH = (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)


def page(request: HttpRequest, status: int, words: str) -> HttpResponse:
    try:
        name = "500.html" if status > 500 else f"{status}.html"
        return render(request, name, {"words": words}, status=status)
    except Exception:
        # The outermost edge: an error page that fails must not hide the first error.
        log.exception("error page %s failed", status)
        return HttpResponse(words, status=status, content_type="text/plain")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    status = 413 if isinstance(exception, TOO_MUCH) else 400
    return page(request, status, WORDS[status])


def refused(request: HttpRequest, exception: Exception) -> HttpResponse:
    # Refusals carry a text fit for a user (see maintenance/households/access.py).
    return page(request, 403, str(exception) or WORDS[403])


def missing(request: HttpRequest, exception: Exception) -> HttpResponse:
    said = isinstance(exception, Missing)  # others speak to developers
    return page(request, 404, str(exception) if said else WORDS[404])


def failed(request: HttpRequest) -> HttpResponse:
    """Called while the error is handled. What a person can do something about has its
    own words; nothing of it was saved, since each form is one transaction."""
    status, words = _what_failed(sys.exc_info()[1])
    return page(request, status, words)


def no_room() -> bool:
    return free_bytes() < LEAST_TO_WRITE


def _what_failed(error: BaseException | None) -> tuple[int, str]:
    said = str(error).lower()
    if isinstance(error, OSError) and error.errno in NO_ROOM:
        return 507, DISK_FULL
    if isinstance(error, OSError) and error.errno == errno.EROFS:
        return 503, READ_ONLY
    if isinstance(error, DatabaseError):
        if no_room():  # SQLite may call it an error of the disk, or of opening a file
            return 507, DISK_FULL
        words = next((w for mark, w in OF_SQLITE if mark in said), WORDS[503])
        return (507 if words == DISK_FULL else 503), words
    return 500, WORDS[500]


def form_expired(request: HttpRequest, reason: str = "") -> HttpResponse:
    return page(
        request,
        403,
        "This form is out of date, maybe because you logged in elsewhere. Go "
        "back, reload the page and send it again.",
    )
