"""What the lock on failed logins needs to know and to say."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from rigsite.errors import page


def client_address(request: HttpRequest) -> str:
    """The visitor's address. Only behind our own proxy does the last entry of the
    forwarding header count: everything before it is the visitor's own claim."""
    forwarded = request.headers.get("x-forwarded-for", "")
    if settings.BEHIND_PROXY and forwarded:
        return forwarded.rsplit(",", 1)[-1].strip()
    return request.META.get("REMOTE_ADDR", "")


def locked_out(
    request: HttpRequest, original_response: Any = None, credentials: Any = None
) -> HttpResponse:
    return page(
        request,
        429,
        "Too many failed logins for this name from this address."
        " Wait a quarter of an hour, then try again.",
    )
