"""The log, and proof behind its permission check."""

from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.vehicles.queries import rigs_of
from maintenance.vehicles.uploads import file_answer

from .access import get_attachment
from .proof import path_of
from .queries import records_of

PAGE = 50


@member_required()
def log(request: HouseholdRequest) -> HttpResponse:
    """All records, newest first; `rig` narrows the list."""
    household = request.member.household
    rows = records_of(household)
    rig = request.GET.get("rig", "")
    if rig.isdigit():
        rows = rows.filter(rig=int(rig))
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    context = {"rows": page, "page": page, "rigs": rigs_of(household), "rig": rig}
    return render(request, "service_records/log.html", context)


@member_required()
def proof(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    attachment = get_attachment(request, key)
    return file_answer(
        path_of(attachment),
        content_type=attachment.content_type,
        name=attachment.title,
        inline=attachment.is_image,
    )
