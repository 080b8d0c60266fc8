"""Reading findings, each list in a fixed number of queries."""

from django.db.models import Count, Max, QuerySet

from maintenance.households.models import Household
from maintenance.vehicles.models import Rig

from .models import Finding, FindingQuerySet


def open_findings(household: Household) -> FindingQuerySet:
    """What is not right yet on the rigs that the household still has."""
    return (
        Finding.objects.for_household(household)
        .not_right_yet()
        .filter(rig__sold_on__isnull=True)
        .select_related("rig")
    )


def unfit_findings(household: Household) -> FindingQuerySet:
    """What was found, makes a rig unfit to travel and is not put right."""
    return open_findings(household).filter(unfit=True).select_related("item")


def findings_of(household: Household) -> QuerySet[Finding]:
    """All, with what a row of the list shows; the most pressing first."""
    return (
        Finding.objects.for_household(household)
        .select_related("rig", "item")
        .annotate(seen=Count("sightings"))
        .order_by("-unfit", "-found_on", "-pk")
    )


def shop_findings(rig: Rig) -> QuerySet[Finding]:
    """The lines of a rig's sheet for the shop."""
    return (
        Finding.objects.for_household(rig.household)
        .not_right_yet()
        .filter(rig=rig, for_shop=True)
        .annotate(last_seen=Max("sightings__look__on"))
        .order_by("-unfit", "found_on", "pk")
        .prefetch_related("photos")
    )
