"""The log, and proof behind its permission check."""

import re
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render

from maintenance.households.access import HouseholdRequest, member_required, row_id
from maintenance.library.reading import load_library
from maintenance.vehicles.queries import rigs_of
from maintenance.vehicles.uploads import file_answer

from .access import get_attachment
from .proof import path_of
from .queries import LogFilter, log_of, log_years
from .unfiled_photos import unfiled

PAGE = 25
YEAR = re.compile(r"[12][0-9]{3}")


@member_required()
def log(request: HouseholdRequest) -> HttpResponse:
    """All records, newest first; narrowed by rig, system, year and text."""
    household = request.member.household
    narrow = _narrowed(request)
    page = Paginator(log_of(household, narrow), PAGE).get_page(request.GET.get("page"))
    context = {
        "rows": page,
        "page": page,
        "narrow": narrow,
        "rigs": rigs_of(household),
        "years": log_years(household),
        "systems": [(s.key, s.title) for s in load_library().systems.values()],
        "unfiled": unfiled(household).count(),
    }
    return render(request, "service_records/log.html", context)


def _narrowed(request: HouseholdRequest) -> LogFilter:
    """What cannot be meant narrows nothing."""
    rig, year = request.GET.get("rig", ""), request.GET.get("year", "")
    return LogFilter(
        rig=row_id(rig),
        system=request.GET.get("system", "")[:30],
        year=int(year) if YEAR.fullmatch(year) else None,
        text=request.GET.get("text", "").replace("\0", "").strip()[:80],
    )


@member_required()
def proof(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    attachment = get_attachment(request, key)
    return file_answer(
        path_of(attachment),
        content_type=attachment.content_type,
        name=attachment.title,
        sha256=attachment.sha256,
        inline=attachment.is_image,
    )
