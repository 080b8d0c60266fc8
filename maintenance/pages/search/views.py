"""The page of what was found."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from maintenance.households.access import HouseholdRequest, member_required

from .finding import find
from .index import refresh
from .showing import groups_of

LONGEST = 100  # of what is typed
DANGER = "danger"  # what words of gas and alarms want
MOST_ADDED = 500  # records that one search waits for; the worker adds the others


@member_required()
def search(request: HouseholdRequest) -> HttpResponse:
    typed = request.GET.get("q", "").lstrip()[:LONGEST]
    household = request.member.household
    context: dict[str, object] = {"typed": typed.strip(), "complete": True}
    if typed:
        context["complete"] = refresh(household, timezone.now(), MOST_ADDED)
        answer = find(household, typed)
        context |= {
            "asked": answer.asked,
            "groups": groups_of(answer),
            "danger": DANGER in answer.asked.wants,
        }
    return render(request, "pages/search.html", context)
