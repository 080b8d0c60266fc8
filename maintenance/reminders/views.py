"""The mail tray, how mail is set up, a test mail, and the link that ends mail."""

import contextlib
from functools import partial
from typing import Any

from csp.decorators import csp_replace
from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from maintenance.households.access import (
    HouseholdRequest,
    founder_required,
    member_required,
)
from maintenance.households.form_page import form_page
from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.households.services import change_member

from . import set_up
from .access import get_mail, get_own_mail, get_stopped
from .forms import MailServerForm
from .mail_server import SetUpBroken, stored
from .queries import mail_known_to
from .services import clock_in_doubt, confirm_clock, use_address_again
from .stop_links import member_of_link
from .testing import send_test_mail

PAGE = 50
# A mail carries its style inside and nothing else: no script, no picture, no way out.
MAIL_POLICY = {
    "default-src": ["'none'"],
    "style-src": ["'unsafe-inline'"],
    "frame-ancestors": ["'self'"],
    "sandbox": ["allow-popups"],
}


@never_cache
@member_required()
def mail_tray(request: HouseholdRequest) -> HttpResponse:
    """The mail one may know of, and how mail is set up."""
    found = Paginator(mail_known_to(request.member), PAGE)
    page = found.get_page(request.GET.get("page"))
    stopped = request.member.household.stopped_addresses.all()
    context = {"rows": list(page), "page": page, "stopped": stopped}
    context |= _how_it_is_set_up(request.member)
    return render(request, "reminders/tray.html", context)


def _how_it_is_set_up(member: Member) -> dict[str, Any]:
    try:
        words, broken = set_up.set_up_in_words(), ""
    except SetUpBroken as found:
        words, broken = [], str(found)
    may_change = set_up.may_set_up(member) and not settings.MAIL_SERVER_SET
    return {"set_up": words, "broken": broken, "may_set_up": may_change}


@never_cache
@member_required()
def one_mail(request: HouseholdRequest, pk: int) -> HttpResponse:
    """What it says to its addressee; to a keeper, what came of it."""
    mail = get_mail(request, pk)
    context = {"mail": mail, "to_me": mail.member_id == request.member.pk}
    return render(request, "reminders/one_mail.html", context)


@never_cache
@csp_replace(MAIL_POLICY)
@xframe_options_sameorigin
@member_required()
def formatted_mail(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The HTML part as a mail reader shows it, shut up in a frame."""
    return HttpResponse(get_own_mail(request, pk).html)


@require_POST
@founder_required
def send_test(request: HouseholdRequest) -> HttpResponse:
    """Shows how far a mail to oneself comes, step by step."""
    try:
        tried = send_test_mail(request.member, now=timezone.now())
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("mail")
    return render(request, "reminders/test_mail.html", {"tried": tried})


@never_cache
@founder_required
def set_up_mail(request: HouseholdRequest) -> HttpResponse:
    """Gives the mail server, where the environment names none."""
    try:
        set_up.check_may_set_up(request.member)
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("mail")
    form = MailServerForm(request.POST or None, initial=_given())
    return form_page(
        request,
        form,
        heading="Set up mail",
        intro="It works from the next email on, without a restart.",
        back=reverse("mail"),
        save=partial(set_up.save_server, by=request.member),
        done="Saved. Send yourself a test email now.",
    )


def _given() -> dict[str, Any]:
    with contextlib.suppress(SetUpBroken):
        if server := stored():
            names = ("host", "tls", "port", "user", "sender")
            return {name: getattr(server, name) for name in names}
    return {}


@require_POST
@founder_required
def forget_mail_server(request: HouseholdRequest) -> HttpResponse:
    try:
        set_up.forget_server(by=request.member)
    except Refused as refusal:
        messages.error(request, refusal.text)
    else:
        messages.success(request, "From now on, email is kept on this page.")
    return redirect("mail")


@founder_required
def clock(request: HouseholdRequest) -> HttpResponse:
    """After the machine's clock jumped: is the date right? Daily mail waits for it."""
    now = timezone.now()
    if request.method == "POST":
        confirm_clock(now, by=request.member)
        messages.success(request, "Daily email goes out again.")
        return redirect("clock")
    doubted = clock_in_doubt()
    shown = (doubted.at, doubted.doubted_at or now) if doubted else ()
    context = {
        "now": timezone.localtime(now),
        "jumped": tuple(map(timezone.localtime, shown)),
    }
    return render(request, "reminders/clock.html", context)


@require_POST
@member_required()
def use_again(request: HouseholdRequest, pk: int) -> HttpResponse:
    stopped = get_stopped(request, pk)
    use_address_again(stopped, by=request.member)
    messages.success(request, f"Email goes to {stopped.address} again.")
    return redirect("mail")


@csrf_exempt  # A mail program posts here for its user, without a page of ours.
@never_cache
def stop_mail(request: HttpRequest, token: str) -> HttpResponse:
    """Ends mail to one person (RFC 8058). Looking changes nothing, posting does."""
    member = member_of_link(token)
    if member is None:
        return render(request, "reminders/stop_mail.html", status=404)
    confirmed = request.POST.get("List-Unsubscribe") == "One-Click"
    if confirmed:
        change_member(member, by=member, wants_mail=False)
    context = {"reader": member, "stopped": confirmed or not member.wants_mail}
    return render(request, "reminders/stop_mail.html", context)
