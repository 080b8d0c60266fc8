"""What the address of the form of work done asks to be filled in beforehand."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from maintenance.households.access import HouseholdRequest
from maintenance.plans.models import Outcome
from maintenance.vehicles.models import Meter, Rig


def prefilled_start(
    request: HouseholdRequest, meters: Iterable[Meter]
) -> dict[str, Any]:
    """The day and the readings, as text that the form checks when it is posted."""
    names = [f"meter_{meter.kind}" for meter in meters]
    found = {name: request.GET[name][:24] for name in names if name in request.GET}
    try:
        on = date.fromisoformat(request.GET.get("on", ""))
    except ValueError:
        return found
    return {**found, "on": on}


def prefilled_lines(request: HouseholdRequest) -> list[dict[str, Any]]:
    title = request.GET.get("title", "")[:120]
    return [{"title": title, "outcome": Outcome.DONE}] if title else []


def prefilled_wheels(request: HouseholdRequest, rig: Rig) -> list[str]:
    """The wheels that were off."""
    asked = request.GET.get("off", "").split(",")
    return [place for place in rig.places if place in asked]
