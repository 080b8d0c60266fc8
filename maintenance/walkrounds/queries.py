"""Reading findings."""

from django.db.models import QuerySet

from maintenance.households.models import Household

from .models import Finding


def open_findings(household: Household) -> QuerySet[Finding]:
    """What is not right yet on the rigs that the household still has."""
    return (
        Finding.objects.for_household(household)
        .not_right_yet()
        .filter(rig__sold_on__isnull=True)
        .select_related("rig")
    )
