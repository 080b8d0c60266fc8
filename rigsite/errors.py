"""Error pages: the template of that number, or plain words where even that fails."""

import logging

from django.core.exceptions import (
    RequestDataTooBig,
    TooManyFieldsSent,
    TooManyFilesSent,
)
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from maintenance.households.refusals import Missing

log = logging.getLogger(__name__)

WORDS = {
    400: "This request could not be understood.",
    403: "You may not do this.",
    404: "This page does not exist, or it is not yours to see.",
    413: (
        "A form takes up to 2 MB of text at once. Nothing was saved. Go back and send "
        "less, or send a long list as a file."
    ),
    500: "Something went wrong here. It has been logged; nothing you stored is lost.",
}
TOO_MUCH = (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)


def page(request: HttpRequest, status: int, words: str) -> HttpResponse:
    try:
        return render(request, f"{status}.html", {"words": words}, status=status)
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
    return page(request, 500, WORDS[500])


def form_expired(request: HttpRequest, reason: str = "") -> HttpResponse:
    return page(
        request,
        403,
        "This form is no longer valid, perhaps since you logged in elsewhere. Go back,"
        " load the page again and send it once more.",
    )
