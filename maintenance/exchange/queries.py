"""Reading what was brought in."""

from django.db.models import QuerySet

from maintenance.households.models import Household
from maintenance.service_records.models import ServiceRecord

from .models import Bringing, BroughtRow


def bringings_of(household: Household) -> QuerySet[Bringing]:
    return Bringing.objects.for_household(household).select_related(
        "rig__household", "begun_by"
    )


def rows_behind(record: ServiceRecord) -> list[BroughtRow]:
    """The rows of files that a record was made of."""
    return list(record.brought_rows.select_related("bringing"))
