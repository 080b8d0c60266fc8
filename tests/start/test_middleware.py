"""The household's zone and day for each request, and the address behind a login."""

import datetime as dt

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse
from django.utils import timezone

from rigsite.bounds import MOST_FOR_STRANGERS, SESSION_COOKIE
from rigsite.login import client_address
from rigsite.middleware import HouseholdMiddleware
from tests.builders import make_household, make_member


def seen_by(rf, user) -> dict:
    """What a view sees of the member, the day and the zone."""
    seen: dict = {}

    def view(request):
        seen["member"], seen["today"] = request.member, request.today
        seen["zone"] = timezone.get_current_timezone_name()
        return HttpResponse()

    request = rf.get("/")
    request.user, request.session = user, {}
    HouseholdMiddleware(view)(request)
    return seen


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("America/Denver", dt.date(2026, 5, 3)),
        ("Pacific/Kiritimati", dt.date(2026, 5, 4)),
    ],
)
def test_request_when_from_a_member_then_zone_and_day_are_the_household_s(
    zone, day, rf, clock
):
    clock("2026-05-04 05:30")
    member = make_member(make_household(timezone=zone))

    seen = seen_by(rf, member.user)

    assert seen == {"member": member, "today": day, "zone": zone}
    assert timezone.get_current_timezone_name() == "UTC"


def test_request_when_from_nobody_then_no_member_and_utc(rf, clock):
    clock("2026-05-04 23:30")

    seen = seen_by(rf, AnonymousUser())

    assert seen == {"member": None, "today": dt.date(2026, 5, 4), "zone": "UTC"}


def test_address_when_a_header_claims_another_then_the_connection_s_counts(rf):
    claimed = rf.get("/", headers={"x-forwarded-for": "198.51.100.7, 203.0.113.9"})

    assert client_address(claimed) == "127.0.0.1"


def test_session_cookie_when_the_front_looks_for_it_then_by_its_name(settings):
    assert f"{settings.SESSION_COOKIE_NAME}=" == SESSION_COOKIE


@pytest.mark.django_db
def test_body_when_large_and_its_session_is_none_then_not_taken_apart(client):
    client.cookies["rigsite_session"] = "made-up"

    answer = client.post("/login/", {"username": "x" * (MOST_FOR_STRANGERS + 1)})

    assert answer.status_code == 413
    assert "Nothing was saved" in answer.content.decode()
