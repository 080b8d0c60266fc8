"""What the lock on failed logins needs to know and to say."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from rigsite.errors import page


def client_address(request: HttpRequest) -> str:
    """The visitor's address, as the web server found it: that of the connection, or
    what the named proxy says of it (`rigsite/front.py`). No header is looked at."""
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
