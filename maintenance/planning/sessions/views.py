"""Work done together: the page of sittings."""

from django.http import HttpResponse
from django.shortcuts import render

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.plans.queries import household_is_stale
from maintenance.plans.standings import renew_household

from .page import SPANS, USUAL, sessions_page


@member_required()
def sessions(request: HouseholdRequest) -> HttpResponse:
    household = request.member.household
    if household_is_stale(household, request.today):
        renew_household(household, as_of=request.today)
    asked = request.GET.get("days", "")
    days = int(asked) if asked in map(str, SPANS) else USUAL
    page = sessions_page(household, request.today, days)
    context = {"page": page, "rows": page.sessions, "days": days, "spans": SPANS}
    return render(request, "planning/sessions.html", context)
