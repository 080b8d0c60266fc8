"""What measured figures ask beside those of before at the same place: of parts that are
still the same. It is asked, and changes nothing: no law or manufacturer limits it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from maintenance.core.measured import Figure, judge_trends
from maintenance.library.model import Procedure
from maintenance.plans.measures import Measured, deviation_words, from_data
from maintenance.plans.models import Outcome
from maintenance.plans.queries import procedures_of
from maintenance.vehicles.models import WHEEL_PLACES, Event, Rig
from maintenance.work_sheets.judging import figure_of

from .models import RecordLine, ServiceRecord
from .standing_faults import Parts, last_day

# So many earlier lines with figures are looked at: years of them.
MOST_LINES = 300
WHEEL_EVENTS = ("wheel_off", "tire_replaced")


def trend_questions(records: Iterable[ServiceRecord]) -> list[str]:
    """In words, of each figure of `records`, all of one rig, that its place has not
    shown before; in a number of queries that does not grow with the lines."""
    rows = RecordLine.objects.filter(record__in=list(records), record__voided_at=None)
    rows = rows.exclude(measures=[]).exclude(item=None)
    lines = list(rows.select_related("record__rig__household", "item__component"))
    if not lines:
        return []
    procedures = procedures_of(lines[0].record.rig.household)
    asking = [line for line in lines if _trends_of(line, procedures)]
    if not asking:
        return []
    past = _Past(asking[0].record.rig, asking)
    return [
        words
        for line in asking
        for words in _asked(line, past, procedures[line.item.key])  # type: ignore[union-attr]
    ]


def _trends_of(line: RecordLine, procedures: Mapping[str, Procedure]) -> bool:
    known = procedures.get(line.item.key) if line.item else None
    return known is not None and bool(known.trends)


def _asked(line: RecordLine, past: "_Past", procedure: Procedure) -> Iterator[str]:
    told = _numbers(line)
    found = judge_trends(
        [figure_of(one) for one in told], past.looks(line, told), procedure.trends
    )
    for one in found:
        figure = told[one.index]
        where = f" {figure.place}" if figure.place else ""
        yield f"{figure.name}{where} {figure.words}: {deviation_words(one)}."


def _numbers(line: RecordLine) -> list[Measured]:
    return [x for x in from_data(line.measures) if isinstance(x.value, Decimal)]


@dataclass(frozen=True, slots=True)
class _Changed:
    """A wheel that was off, or a part that was replaced: figures start anew."""

    event: Event

    def touches(self, place: str) -> bool:
        of_wheels = self.event.kind in WHEEL_EVENTS
        if of_wheels != (place in WHEEL_PLACES):
            return False
        return not self.event.places or place in self.event.places


class _Past:
    """The figures of a rig, up to the lines that are asked about."""

    def __init__(self, rig: Rig, lines: Sequence[RecordLine]) -> None:
        items = {line.item for line in lines if line.item is not None}
        self.parts = Parts(rig, {x.component_id for x in items if x.component_id})
        last = max(last_day(line) for line in lines)
        rows = RecordLine.objects.filter(
            record__rig=rig, record__voided_at=None, record__on__lte=last
        )
        rows = rows.exclude(measures=[]).exclude(outcome=Outcome.NOT_DONE)
        newest = rows.select_related("record", "item").order_by("-record__on", "-pk")
        self.lines = list(newest[:MOST_LINES])[::-1]
        events = Event.objects.filter(rig=rig, withdrawn=False)
        self.changed = [
            _Changed(one)
            for one in events
            if one.kind in WHEEL_EVENTS or one.kind.endswith("_replaced")
        ]

    def looks(self, line: RecordLine, told: Sequence[Measured]) -> list[list[Figure]]:
        """What was measured at the same places before, oldest first: at a wheel by
        whatever job, else by this one."""
        asked = {(one.name.casefold(), one.place) for one in told}
        found = []
        for before in self._before(line):
            found.append(
                [
                    figure_of(one)
                    for one in _numbers(before)
                    if (one.name.casefold(), one.place) in asked
                    and (one.place in WHEEL_PLACES or before.item_id == line.item_id)
                    and self._same_part(one.place, before, line)
                ]
            )
        return [look for look in found if look]

    def _before(self, line: RecordLine) -> Iterator[RecordLine]:
        mine = (line.record.on, line.pk)
        for one in self.lines:
            if (last_day(one), one.pk) < mine and one.record_id != line.record_id:
                yield one

    def _same_part(self, place: str, before: RecordLine, line: RecordLine) -> bool:
        """Whether both were measured on one part. A tire that nobody keeps by itself
        may have changed whenever its wheel was off."""
        then, now = last_day(before), last_day(line)
        if place in WHEEL_PLACES:
            tires = [self.parts.tire_at(place, day) for day in (then, now)]
            if any(tires):
                ids = {tire.component_id if tire else None for tire in tires}
                return len(ids) == 1
        elif line.item and self.parts.gave_way(line.item.component_id, before):
            return False
        between = (one for one in self.changed if then <= one.event.on <= now)
        return not any(one.touches(place) for one in between)
