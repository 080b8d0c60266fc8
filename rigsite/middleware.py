"""Puts the member behind a request, the household's time zone, local form and local day
where the views look for them: request.member, the active ones, request.today."""

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from maintenance.households.access import member_of
from maintenance.households.login_sessions import note_seen
from rigsite.bounds import MOST_FOR_STRANGERS, TOO_LARGE
from rigsite.errors import page


class HouseholdMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        member = member_of(request)
        if member is not None:
            note_seen(request)
        zone = member.household.zone if member else zoneinfo.ZoneInfo("UTC")
        # The only place where a page asks the clock for "today".
        request.member = member  # type: ignore[attr-defined]
        request.today = timezone.localdate(timezone=zone)  # type: ignore[attr-defined]
        with member.household.at_home() if member else timezone.override(zone):
            return self.get_response(request)


class StrangersBodyMiddleware:
    """A large body of somebody who only seemed to be logged in (the web server knows no
    sessions, just their cookie) is refused before it is taken apart."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        length = request.META.get("CONTENT_LENGTH") or "0"
        if request.member is None and int(length) > MOST_FOR_STRANGERS:  # type: ignore[attr-defined]
            return page(request, 413, TOO_LARGE)
        return self.get_response(request)
