"""When things were entered: on the evening of their day, as if typed then."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Max

from maintenance.households.models import ActivityEntry
from maintenance.plans.models import Completion, Deferral
from maintenance.service_records.chain.linking import UNDO_FOR, link_rig
from maintenance.service_records.models import Attachment, ServiceRecord
from maintenance.vehicles.models import Event, Reading

from .told import Told

EVENING = time(18, 30)
DATED: tuple[tuple[Any, str], ...] = (
    (ServiceRecord, "rig__household"),
    (Reading, "meter__rig__household"),
    (Event, "rig__household"),
    (Completion, "item__rig__household"),
)


class Diary:
    """Services stamp what they make with the clock; this brings it back to its day."""

    def __init__(self, told: Told) -> None:
        self.told, self.household = told, told.household
        self.noted = 0  # the last entry of the activity log that has its day

    def close_day(self, day: date) -> None:
        new = ActivityEntry.objects.filter(household=self.household, pk__gt=self.noted)
        if new.update(at=self._evening(day)):
            self.noted = new.aggregate(last=Max("pk"))["last"]

    def close(self) -> None:
        for model, path in DATED:
            rows = list(model.objects.filter(**{path: self.household}))
            for row in rows:
                row.entered_at = self._evening(row.on)
            model.objects.bulk_update(rows, ["entered_at"], batch_size=400)
        for record, day in self.told.late.items():
            ServiceRecord.objects.filter(pk=record.pk).update(
                entered_at=self._evening(day)
            )
        for item, day in self.told.deferred.items():
            Deferral.objects.filter(item=item).update(made_at=self._evening(day))
        self._date_proof()
        self._link()

    def _link(self) -> None:
        """What was entered until the evening before is chained, as it would be."""
        ripe = self._evening(self.told.as_of - timedelta(days=1)) + UNDO_FOR
        for rig in self.told.rigs.values():
            link_rig(rig, ripe)

    def _date_proof(self) -> None:
        proofs = Attachment.objects.filter(record__rig__household=self.household)
        for pk, entered_at in proofs.values_list("pk", "record__entered_at"):
            Attachment.objects.filter(pk=pk).update(added_at=entered_at)

    def _evening(self, day: date) -> datetime:
        return datetime.combine(day, EVENING, self.household.zone)
