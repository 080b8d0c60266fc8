"""The lock on failed logins. What counts is the address of the connection, or what the
named proxy says it is (`rigsite/front.py`); no header that a visitor sends."""

from typing import Any

from axes.backends import AxesStandaloneBackend
from axes.exceptions import AxesBackendPermissionDenied
from axes.models import AccessAttempt
from django.conf import settings
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from rigsite.bounds import network_of
from rigsite.errors import page

# Failures within the time that a lock lasts. From one address on all accounts together:
# some people of a household who mistype. On one account from all addresses: more than
# anybody mistypes, far too few to guess by; who is logged in stays so.
MOST_OF_AN_ADDRESS = 40
MOST_ON_AN_ACCOUNT = 100


class BoundedLogin(AxesStandaloneBackend):
    """Beside the lock on an account from an address: one on an address, and a far one
    on an account."""

    def authenticate(
        self,
        request: HttpRequest,
        username: str | None = None,
        password: str | None = None,
        **more: Any,
    ) -> None:
        super().authenticate(request, username=username, password=password, **more)
        here = failures(ip_address=client_address(request))
        if here >= MOST_OF_AN_ADDRESS or (
            username and failures(username=username) >= MOST_ON_AN_ACCOUNT
        ):
            request.axes_locked_out = True  # type: ignore[attr-defined]
            raise AxesBackendPermissionDenied("too many failures")


def failures(**of: str) -> int:
    since = timezone.now() - settings.AXES_COOLOFF_TIME
    lately = AccessAttempt.objects.filter(attempt_time__gte=since, **of)
    return lately.aggregate(n=Sum("failures_since_start"))["n"] or 0


def client_address(request: HttpRequest) -> str:
    return network_of(request.META.get("REMOTE_ADDR", ""))


def locked_out(
    request: HttpRequest, original_response: Any = None, credentials: Any = None
) -> HttpResponse:
    answer = page(
        request,
        429,
        "Too many failed logins for this name or from this address. Wait 15 "
        "minutes, then try again.",
    )
    answer["Retry-After"] = str(int(settings.AXES_COOLOFF_TIME.total_seconds()))
    return answer
