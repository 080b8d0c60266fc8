"""The mail tray, how mail is set up, a test mail, and the link that ends mail."""

from csp.decorators import csp_replace
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.refusals import Refused
from maintenance.households.services import change_member

from .access import get_mail
from .queries import mail_of
from .set_up import set_up_in_words
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


@member_required()
def mail_tray(request: HouseholdRequest) -> HttpResponse:
    """Every mail to the household, and how mail is set up."""
    found = Paginator(mail_of(request.member.household), PAGE)
    page = found.get_page(request.GET.get("page"))
    context = {"rows": list(page), "page": page, "set_up": set_up_in_words()}
    return render(request, "reminders/tray.html", context)


@member_required()
def one_mail(request: HouseholdRequest, pk: int) -> HttpResponse:
    return render(request, "reminders/one_mail.html", {"mail": get_mail(request, pk)})


@csp_replace(MAIL_POLICY)
@xframe_options_sameorigin
@member_required()
def formatted_mail(request: HouseholdRequest, pk: int) -> HttpResponse:
    """The HTML part as a mail reader shows it, shut up in a frame."""
    return HttpResponse(get_mail(request, pk).html)


@require_POST
@member_required()
def send_test(request: HouseholdRequest) -> HttpResponse:
    try:
        outcome = send_test_mail(request.member, now=timezone.now())
    except Refused as refusal:
        messages.error(request, refusal.text)
        return redirect("mail")
    if outcome.kind == "sent":
        to = request.member.user.email
        words = _("The mail server took a test mail to %(to)s.") % {"to": to}
        messages.success(request, f"{words} {outcome.words}")
    else:
        messages.error(request, outcome.words)
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
