"""What the tread of each tire measured last, where it sits now."""

from datetime import date

from maintenance.components.models import Component
from maintenance.components.queries import fittings_of
from maintenance.plans.measures import from_data
from maintenance.service_records.models import RecordLine
from maintenance.vehicles.models import Rig

TREAD = "1/32 in"  # the unit in which treads are measured, and nothing else
MOST_LINES = 100


def treads_of(rig: Rig, tires: list[Component]) -> dict[str, str]:
    """Place -> words. A figure of before the tire came there is another tire's."""
    since = _since(tires)
    lines = RecordLine.objects.filter(record__rig=rig, record__voided_at=None)
    lines = lines.exclude(measures=[]).select_related("record")
    found: dict[str, str] = {}
    for line in lines.order_by("-record__on", "-pk")[:MOST_LINES]:
        for one in from_data(line.measures):
            start = since.get(one.place)
            if one.unit == TREAD and start is not None and line.record.on >= start:
                found.setdefault(one.place, one.words)
    return found


def _since(tires: list[Component]) -> dict[str, date]:
    """Place -> since when its tire sits there."""
    fittings = fittings_of(tire.pk for tire in tires)
    return {
        row.place: row.start
        for rows in fittings.values()
        for row in rows
        if row.end is None
    }
