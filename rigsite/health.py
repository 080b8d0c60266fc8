"""How the program is, in words: GET /health/ answers 200, or 503 with the reason; the
page Status says the same and more to the founder, and Due has a line of it.

The age of the last sweep is what counts: a worker on a half-dead connection looks
alive, runs nothing and logs no error. A disk that is nearly full is no reason for 503:
reading and small writes still work."""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from maintenance.households.access import HouseholdRequest, founder_required
from maintenance.households.activity import note_activity
from rigsite.backup.downloading import backup_to_download
from rigsite.backup.nightly import FAILURES
from rigsite.checkup.finding import Finding, Level, worst, wrong_first
from rigsite.checkup.quick import (
    answered,
    clock,
    disk,
    kept,
    last_sweep,
    mail_waiting,
    on_its_way,
    running,
)
from rigsite.checkup.thorough import noted


@never_cache
def health(request: HttpRequest) -> HttpResponse:
    findings = running(timezone.now())
    well = worst(findings) < Level.BROKEN
    head = "Everything is running." if well else "Something isn't running."
    return HttpResponse(
        "\n".join([head, *map(str, [*findings, disk()])]) + "\n",
        status=200 if well else 503,
        content_type="text/plain; charset=utf-8",
    )


@never_cache
@founder_required
def status(request: HouseholdRequest) -> HttpResponse:
    """The same for the founder, with what is on its way and what is kept safe."""
    now = timezone.now()
    findings = [*running(now), *kept(now)]
    findings += answered(lambda: on_its_way(now))
    findings += noted(now)
    context = {
        "findings": findings,
        "wrong": wrong_first(findings),
        # A browser installs nothing from a page that came without encryption.
        "encrypted": settings.PUBLIC if settings.BEHIND_PROXY else settings.SECURE_DOOR,
    }
    return render(request, "rigsite/status.html", context)


@never_cache
@require_POST
@founder_required
def download_backup(request: HouseholdRequest) -> HttpResponseBase:
    """All that the program keeps, of every household: for whoever looks after it."""
    try:
        file, name = backup_to_download(timezone.now())
    except FAILURES as error:
        messages.error(request, f"No backup was made. {error}")
        return redirect("status")
    note_activity(request.member, "downloaded a backup", name)
    return FileResponse(file, as_attachment=True, filename=name)


def on_pages(request: HttpRequest) -> dict[str, Any]:
    """For templates: `checkup`, what is wrong, looked for only where it is shown."""
    return {"checkup": _wrong_now(request)}


def _wrong_now(request: HttpRequest) -> Callable[[], list[Finding]]:
    def look() -> list[Finding]:
        member = getattr(request, "member", None)
        if member is None or not member.founder:
            return []
        now = timezone.now()
        # No broker: asking one that hangs takes seconds, and the sweep tells of it.
        return wrong_first(
            [last_sweep(now), *kept(now), clock(), mail_waiting(now), *noted(now)]
        )

    return look
