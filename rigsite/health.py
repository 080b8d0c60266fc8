"""How the program is, in words: GET /health/ answers 200, or 503 with the reason; the
page Status says the same and more to a keeper, and Due has a line of it.

The age of the last sweep is what counts: a worker on a half-dead connection looks
alive, runs nothing and logs no error. A disk that is nearly full is no reason for 503:
reading and small writes still work."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.households.models import Role
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
    head = "Everything runs." if well else "Something does not run."
    return HttpResponse(
        "\n".join([head, *map(str, [*findings, disk()])]) + "\n",
        status=200 if well else 503,
        content_type="text/plain; charset=utf-8",
    )


@never_cache
@member_required(Role.KEEPER)
def status(request: HouseholdRequest) -> HttpResponse:
    """The same for a keeper, with what is on its way and what is kept safe."""
    now = timezone.now()
    household = request.member.household
    findings = [*running(now), *kept(now)]
    findings += answered(lambda: on_its_way(now, household))
    findings += noted(now)
    context = {"findings": findings, "wrong": wrong_first(findings)}
    return render(request, "rigsite/status.html", context)


def on_pages(request: HttpRequest) -> dict[str, Any]:
    """For templates: `checkup`, what is wrong, looked for only where it is shown."""
    return {"checkup": _wrong_now(request)}


def _wrong_now(request: HttpRequest) -> Callable[[], list[Finding]]:
    def look() -> list[Finding]:
        member = getattr(request, "member", None)
        if member is None or not member.is_keeper:
            return []
        now = timezone.now()
        # No broker: asking one that hangs takes seconds, and the sweep tells of it.
        return wrong_first(
            [last_sweep(now), *kept(now), clock(), mail_waiting(now), *noted(now)]
        )

    return look
