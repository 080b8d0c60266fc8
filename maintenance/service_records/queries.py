"""Reading service records."""

from collections.abc import Iterator

from django.db.models import QuerySet

from maintenance.households.models import Household
from maintenance.plans.doing.measures import Measured, from_data
from maintenance.vehicles.models import Rig

from .models import RecordLine, ServiceRecord


def records_of(household: Household) -> QuerySet[ServiceRecord]:
    """With all that a list row or a print shows, in a fixed number of queries."""
    return (
        ServiceRecord.objects.for_household(household)
        .select_related("rig", "torque", "entered_by")
        .prefetch_related("lines", "torque__places", "attachments", "supplies")
    )


def records_of_rig(rig: Rig) -> QuerySet[ServiceRecord]:
    return records_of(rig.household).filter(rig=rig)


def measured_on(line: RecordLine) -> list[Measured]:
    """What was measured at one job; the torque of wheels stands in `record.torque`."""
    return from_data(line.measures)


def steps_left_out(line: RecordLine) -> list[str]:
    """The steps that were not ticked; empty too where no sheet was used."""
    return [words for words, ticked in line.steps if not ticked]


def measured_of(record: ServiceRecord) -> Iterator[tuple[RecordLine, list[Measured]]]:
    """Each job of a record that measured something, with its values."""
    for line in record.lines.all():
        if line.measures:
            yield line, measured_on(line)
