"""The slip of a record, the tag that hangs on it, and what is still due."""

from django.contrib import messages
from django.contrib.messages.storage.base import Message
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from maintenance.households.access import HouseholdRequest, member_required
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


def _is_follow(message: Message) -> bool:
    return FOLLOWS in (message.extra_tags or "").split()


def _line(message: Message) -> FollowLine:
    mark = (message.extra_tags or "").split()[-1]
    return FollowLine(mark, str(message), warns=message.level_tag == "warning")
