"""Taking everything out: for keepers, as one ZIP."""

from uuid import UUID

from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from maintenance.exchange.models import ExportJob
from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
from maintenance.households.refusals import Missing
from maintenance.jobs.pages import get_job, job_page, stop_from_page

from . import making
from .scope import LEFT_OUT


@member_required(Role.KEEPER)
def take_out(request: HouseholdRequest) -> HttpResponse:
    """What it is; by POST it is asked for."""
    household = request.member.household
    if request.method == "POST":
        job = making.ask_for_export(household, by=request.member)
        return redirect("export", job.key)
    context = {
        "left_out": sorted(set(LEFT_OUT.values())),
        "jobs": ExportJob.objects.for_household(household),
    }
    return render(request, "exchange/take_out.html", context)


@never_cache
@member_required(Role.KEEPER)
def export(request: HouseholdRequest, key: UUID) -> HttpResponse:
    job = get_job(request, ExportJob, key)
    return job_page(
        request, job, "exchange/export.html", page="export", stop="stop_export"
    )


@require_POST
@member_required(Role.KEEPER)
def stop(request: HouseholdRequest, key: UUID) -> HttpResponse:
    job = get_job(request, ExportJob, key)
    return stop_from_page(request, job, making.stop_export, page="export")


@member_required(Role.KEEPER)
def export_file(request: HouseholdRequest, key: UUID) -> HttpResponseBase:
    job = get_job(request, ExportJob, key)
    path = making.path_of(job)
    if not job.is_ready:
        raise Http404
    if not path.is_file() or path.stat().st_size != job.size:
        raise Missing("The file is missing or damaged. Export again.")
    answer = FileResponse(
        path.open("rb"),
        as_attachment=True,
        filename=f"rigsite-{request.today.isoformat()}.zip",
        content_type="application/zip",
    )
    answer["Cache-Control"] = "no-store"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
