"""Telling of what was done to records afterwards: amended, void, made one.

It comes last and all on the day the story is told for, because what a record says, and
when it was entered, is chained.
"""

from maintenance.service_records.amending import Amended, amend_record
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.same_work import merge_records
from maintenance.service_records.services import void_record
from maintenance.service_records.work import Line

from .rigs import decimals
from .rows import AmendedStory, columns
from .story import RigStory
from .told import Told


def put_right(told: Told, rig: RigStory) -> None:
    by, today = told.members[rig.hand], told.as_of
    for row in rig.amended:
        record = fresh(told, row.work)
        amend_record(record, by=by, today=today, why=row.why, to=_to(record, row))
    for void in rig.voided:
        record = fresh(told, void.work)
        void_record(record, by=by, today=today, why=void.why)
    for pair in rig.merged:
        into = fresh(told, pair.into)
        merge_records(fresh(told, pair.work), into=into, by=by, today=today)


def fresh(told: Told, name: str) -> ServiceRecord:
    """As it stands: the days of entry were brought home behind its back."""
    return ServiceRecord.objects.select_related("rig__household").get(
        pk=told.records[name].pk
    )


def _to(record: ServiceRecord, row: AmendedStory) -> Amended:
    lines = [
        (line, Line(line.title, line.item, line.outcome, line.note))
        for line in record.lines.all()
    ]
    return Amended(
        on=record.on,
        until=record.until,
        lines=lines,
        values=decimals(record.values),
        fields=columns(row.about),
    )
