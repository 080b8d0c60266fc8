"""Where the parts of a rig were on the day of a record."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from maintenance.components.models import ComponentKind, Fitting
from maintenance.vehicles.models import Event, Rig

from .models import RecordLine

TIRE_REPLACED = "tire_replaced"


class Parts:
    """Where the tires of the rig were, and the parts that its items are of."""

    def __init__(self, rig: Rig, components: Iterable[int]) -> None:
        rows = Fitting.objects.filter(
            Q(rig=rig, component__kind=ComponentKind.TIRE)
            | Q(component__in=list(components)),
            withdrawn=False,
        )
        self.rig = rig
        self.fittings = list(rows.select_related("component").order_by("start", "pk"))
        self.replaced = list(
            Event.objects.filter(
                rig=rig, kind=TIRE_REPLACED, withdrawn=False
            ).prefetch_related("records")
        )

    def tire_at(self, place: str, day: date) -> Fitting | None:
        """On the day of a change it is the one that came."""
        found = [
            row
            for row in self._tires(place)
            if row.start <= day and (row.end is None or row.end >= day)
        ]
        return found[-1] if found else None

    def _tires(self, place: str) -> list[Fitting]:
        return [
            row
            for row in self.fittings
            if row.component.kind == ComponentKind.TIRE
            and row.rig_id == self.rig.pk
            and row.place == place
        ]

    def tire_gave_way(self, place: str, line: RecordLine) -> bool:
        """Whether the tire measured then is on the rig no more. An event that names no
        wheel tells nothing of a tire that is known by itself."""
        day = last_day(line)
        tire = self.tire_at(place, day)
        if any(
            place in event.places if event.places else tire is None
            for event in self.replaced
            if event.on > day or line.record in event.records.all()
        ):
            return True
        if tire is not None:
            return tire.component.rig_id != self.rig.pk
        return any(row.start > day for row in self._tires(place))

    def gave_way(self, component: int | None, line: RecordLine) -> bool:
        """Whether what the item is of now was not there then, or is gone."""
        rows = [row for row in self.fittings if row.component_id == component]
        if component is None or not rows:
            return False
        away = rows[0].component.rig_id != self.rig.pk
        return away or rows[0].start > last_day(line)


def last_day(line: RecordLine) -> date:
    return line.record.until or line.record.on
