"""Reading service records."""

from django.db.models import QuerySet

from maintenance.households.models import Household
from maintenance.vehicles.models import Rig

from .models import ServiceRecord


def records_of(household: Household) -> QuerySet[ServiceRecord]:
    """With all that a list row or a print shows, in a fixed number of queries."""
    return (
        ServiceRecord.objects.for_household(household)
        .select_related("rig", "torque", "entered_by")
        .prefetch_related("lines", "torque__places", "attachments")
    )


def records_of_rig(rig: Rig) -> QuerySet[ServiceRecord]:
    return records_of(rig.household).filter(rig=rig)
