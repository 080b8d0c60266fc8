"""Puts the member behind a request, the household's time zone and its local day where
the views look for them: request.member, the active time zone, request.today."""

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from maintenance.households.access import member_of
from maintenance.households.login_sessions import note_seen


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
        with timezone.override(zone):
            return self.get_response(request)
