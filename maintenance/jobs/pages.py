"""The page of a long job, by which a member follows and stops it."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django_htmx.http import HttpResponseClientRefresh

from maintenance.households.access import HouseholdRequest, get_or_404
from maintenance.households.refusals import Refused

from .models import J, LongJob


def get_job(request: HouseholdRequest, kind: type[J], key: UUID) -> J:
    rows: Any = kind.objects.for_household(request.member.household)
    return get_or_404(rows.with_household(), key=key)


def asked_by_script(request: HttpRequest) -> bool:
    """Whether the page asks how far the job is, and not a browser for the page."""
    return "HX-Request" in request.headers


def job_page(
    request: HouseholdRequest, job: LongJob, template: str, *, page: str, stop: str
) -> HttpResponse:
    """The page of a job by `template`, which extends `jobs/job.html`; `page` and `stop`
    name the routes. Its script asks the same address for the progress alone, and gets
    nothing (204) while nothing has changed."""
    if asked_by_script(request) and not job.is_in_work:
        return HttpResponseClientRefresh()
    progress = job.progress
    seen = f"{job.state}-{progress.done}"
    if asked_by_script(request) and request.GET.get("seen") == seen:
        return HttpResponse(status=204)
    page_url = reverse(page, args=[job.key])
    context = {
        "job": job,
        "progress": progress,
        "page_url": page_url,
        "poll_url": f"{page_url}?seen={seen}",
        "stop_url": reverse(stop, args=[job.key]),
    }
    shown = "jobs/_progress.html" if asked_by_script(request) else template
    return render(request, shown, context)


def stop_from_page(
    request: HouseholdRequest, job: LongJob, stop: Callable[..., None], *, page: str
) -> HttpResponse:
    """Stop it by its service and show its page, which says so or why not."""
    try:
        stop(job, by=request.member)
    except Refused as refusal:
        messages.error(request, refusal.text)
    return redirect(page, job.key)
