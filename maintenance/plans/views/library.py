"""The library: its version, what changed, and each procedure with its sources."""

from django.http import Http404, HttpResponse
from django.shortcuts import render

from maintenance.households.access import HouseholdRequest, member_required
from maintenance.library.reading import load_library
from maintenance.plans.models import OwnProcedure
from maintenance.plans.own_procedures import is_own
from maintenance.plans.queries import procedures_of
from maintenance.plans.rules import words_of_rules
from maintenance.plans.sheets import library_groups, source_counts


@member_required()
def library(request: HouseholdRequest, key: str = "") -> HttpResponse:
    """All of it in short, or with a key one procedure whole."""
    procedures = procedures_of(request.member.household)
    if not key:
        context = {
            "library": load_library(),
            "groups": library_groups(procedures),
            "sources": source_counts(procedures.values()),
        }
        return render(request, "plans/library.html", context)
    if key not in procedures:
        raise Http404
    found = procedures[key]
    context = {
        "procedure": found,
        "rules": words_of_rules(found.triggers, key),
        "own": _own(request, key) if is_own(key) else None,
    }
    return render(request, "plans/procedure.html", context)


def _own(request: HouseholdRequest, key: str) -> OwnProcedure:
    rows = OwnProcedure.objects.filter(household=request.member.household)
    return next(row for row in rows if row.key == key)
