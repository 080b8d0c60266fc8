"""Taking everything out: for keepers, as one ZIP."""

from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.activity import note_activity
from maintenance.households.models import Role

from .archive import take_out_of
from .models_out import LEFT_OUT


@member_required(Role.KEEPER)
def take_out(request: HouseholdRequest) -> HttpResponseBase:
    """What it is; by POST, the file."""
    if request.method == "POST":
        return _archive(request)
    left_out = sorted(set(LEFT_OUT.values()))
    return render(request, "exchange/take_out.html", {"left_out": left_out})


def _archive(request: HouseholdRequest) -> HttpResponse | FileResponse:
    member = request.member
    file = take_out_of(member.household, made_by=member.name, now=timezone.now())
    note_activity(member, "took everything out", member.household.name)
    answer = FileResponse(
        file,
        as_attachment=True,
        filename=f"rigsite-{request.today.isoformat()}.zip",
        content_type="application/zip",
    )
    answer["Cache-Control"] = "no-store"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
