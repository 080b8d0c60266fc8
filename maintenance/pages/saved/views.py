"""The slip of a record, the tag that hangs on it, and what is still due."""

from django.contrib import messages
from django.contrib.messages.storage.base import Message
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.refusals import Missing
from maintenance.reminders.answer_links import DeadLink, read_link
from maintenance.reminders.answering import recorded_by
from maintenance.service_records.access import get_record
from maintenance.service_records.follow_words import FollowLine
from maintenance.ui.words import day_words

from .queries import saved_page

FOLLOWS = "follows"


@member_required()
def saved(request: HouseholdRequest, pk: int) -> HttpResponse:
    """What follows is told once; the tag and what is due stay when it is reloaded."""
    page = saved_page(get_record(request, pk), request.today, timezone.now())
    told = list(messages.get_messages(request))
    lines = [_line(one) for one in told if _is_follow(one)]
    rest = [one for one in told if not _is_follow(one)]
    lead = next((x.words for x in lines if x.words.startswith("Next:")), "")
    context = {
        "page": page,
        "lines": lines,
        "told": rest,
        "lead": lead or day_words(page.record.on),
        "rig": page.record.rig,
    }
    return render(request, "pages/saved.html", context)


@never_cache
def answered(request: HttpRequest, token: str) -> HttpResponse:
    """What follows from work that was recorded by a mail's link, for whom the link was
    made, while it is good. It tells no more than the mail and its form did."""
    try:
        link = read_link("done", token)
    except DeadLink as dead:
        raise Missing(f"{dead.heading}. {dead.text}") from None
    found = recorded_by(link)
    if found is None:
        raise Missing("This link no longer leads to a record. Log in to look.")
    used, record = found
    household = record.rig.household
    with timezone.override(household.zone):
        page = saved_page(record, household.today(), timezone.now())
        context = {
            "page": page,
            "lead": used.what,
            "rig": record.rig,
            "reader": used.member,
        }
        answer = render(request, "pages/answered.html", context)
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return answer


def _is_follow(message: Message) -> bool:
    return FOLLOWS in (message.extra_tags or "").split()


def _line(message: Message) -> FollowLine:
    mark = (message.extra_tags or "").split()[-1]
    return FollowLine(mark, str(message), warns=message.level_tag == "warning")
