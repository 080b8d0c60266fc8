"""The calendar feed, behind an address that is its own key, and the page about it."""

import hashlib
from functools import partial
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.http import require_POST, require_safe

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.form_page import form_page

from .calendar_feed import publish
from .forms import CalendarForm
from .models import CalendarFeed
from .services import end_calendar, keep_calendar, make_address_anew


@require_safe
@cache_control(private=True, no_cache=True)
def calendar_feed(request: HttpRequest, secret: str) -> HttpResponseBase:
    feeds = CalendarFeed.objects.select_related("member__household")
    feed = feeds.filter(secret=secret, member__left_on__isnull=True).first()
    if feed is None:
        raise Http404
    household = feed.member.household
    with household.at_home():
        text = publish(feed, now=timezone.now(), today=household.today())
    response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response["ETag"] = etag = quote_etag(hashlib.sha256(text).hexdigest())
    response["Content-Disposition"] = 'inline; filename="rigsite.ics"'
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return get_conditional_response(request, etag=etag, response=response) or response


@never_cache
@member_required()
def calendar(request: HouseholdRequest) -> HttpResponse:
    """What the person's calendar shows, and its address."""
    member = request.member
    feed = CalendarFeed.objects.filter(member=member).first()

    def form_of(data: Any = None) -> CalendarForm:
        now = CalendarFeed.objects.filter(member=member).first()
        said = {"shows": now.shows, "alarm_days": now.alarm_days} if now else {}
        return CalendarForm(data, initial=said)

    return form_page(
        request,
        form_of(request.POST or None),
        changes=member,
        now=form_of,
        heading="Calendar on your phone",
        submit="Save" if feed else "Make an address",
        back=reverse("mail"),
        go_on=reverse("calendar"),
        save=partial(keep_calendar, member, now=timezone.now()),
        template="reminders/calendar.html",
        address=_address(request, feed) if feed else "",
        public_url=settings.PUBLIC_URL,
        some_rigs=member.told_rigs is not None,
    )


def _address(request: HttpRequest, feed: CalendarFeed) -> str:
    path = reverse("calendar_feed", args=[feed.secret])
    if settings.PUBLIC_URL:
        return settings.PUBLIC_URL + path
    return request.build_absolute_uri(path)


@require_POST
@member_required()
def new_calendar_address(request: HouseholdRequest) -> HttpResponse:
    make_address_anew(request.member, now=timezone.now())
    messages.success(
        request, "The old address no longer works. Enter the new one in your calendar."
    )
    return redirect("calendar")


@require_POST
@member_required()
def no_calendar(request: HouseholdRequest) -> HttpResponse:
    end_calendar(request.member)
    messages.success(request, "The address no longer works, and there's no other.")
    return redirect("calendar")
