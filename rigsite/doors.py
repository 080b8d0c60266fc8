"""By which way a visitor came in: this machine itself, another by TLS, another without.

Where `start --lan` has a secure door, others who come without encryption find no page
but the one that leads there. Nobody is ever told to go past a warning."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render

if TYPE_CHECKING:
    from rigsite.certificate import Made

THIS_MACHINE = {"127.0.0.1", "::1"}
LOCAL_NAMES = {"127.0.0.1", "::1", "localhost"}
AUTHORITY = "/certificate.crt"  # what a phone installs
COOKIES = (settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME)


def from_this_machine(request: HttpRequest) -> bool:
    """Whether the visitor sits at this machine. Under a public address a proxy stands
    in between and everybody may seem to, so nobody does."""
    host = request.get_host().rsplit(":", 1)[0].strip("[]")
    near = request.META.get("REMOTE_ADDR") in THIS_MACHINE and host in LOCAL_NAMES
    return near and not settings.PUBLIC_URL


class DoorMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        near = request.META.get("REMOTE_ADDR") in THIS_MACHINE
        unencrypted = settings.LAN and not near and not request.is_secure()
        if unencrypted and settings.LAN_ADDRESS:
            return self._lead_to_the_door(request)
        # Pages say the first (ui/base.html), the first run asks the second.
        request.unencrypted = unencrypted  # type: ignore[attr-defined]
        request.from_this_machine = from_this_machine(request)  # type: ignore[attr-defined]
        answer = self.get_response(request)
        if request.is_secure():
            for name in COOKIES:
                if name in answer.cookies:
                    answer.cookies[name]["secure"] = True
        return answer

    @staticmethod
    def _lead_to_the_door(request: HttpRequest) -> HttpResponseBase:
        # Heavy, and only for this.
        from rigsite.certificate import authority_file, told_of  # noqa: PLC0415

        data = Path(settings.DATA)
        made = told_of(data)
        if made is None or made.name != urlsplit(settings.LAN_ADDRESS).hostname:
            return HttpResponseRedirect(f"{settings.LAN_ADDRESS}/")
        if request.path == AUTHORITY:
            return FileResponse(
                authority_file(data).open("rb"),
                content_type="application/x-x509-ca-cert",
                as_attachment=True,
                filename=f"{made.name}.crt",
            )
        return _how_to_install(request, made)


def _how_to_install(request: HttpRequest, made: "Made") -> HttpResponse:
    context = {
        "made": made,
        "address": f"{settings.LAN_ADDRESS}/",
        "authority": AUTHORITY,
    }
    # Whatever was sent here was sent in the open and is not looked at.
    status = 200 if request.method in ("GET", "HEAD") else 403
    return render(request, "rigsite/install.html", context, status=status)
