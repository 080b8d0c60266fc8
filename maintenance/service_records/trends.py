"""Figures held against those of before at the same place, of parts that are still the
same. What is out of bounds is a fault, with the procedure's words, as past a limit; no
trend makes a rig unfit to travel by itself."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from maintenance.core.measured import Figure, judge_trends
from maintenance.library.model import Procedure
from maintenance.plans.measures import Measured, deviation_words, from_data, to_data
from maintenance.plans.models import Outcome, PlanItem
from maintenance.plans.queries import procedures_of
from maintenance.vehicles.models import WHEEL_PLACES, Event, Rig
from maintenance.work_sheets.judging import (
    Judge,
    Judged,
    Outside,
    figure_of,
    judges_of,
    outside_words,
)

from .models import RecordLine, ServiceRecord
from .parts_then import Parts, last_day
from .work import note_with

# So many earlier lines with figures are looked at: years of them.
MOST_LINES = 300
WHEEL_EVENTS = ("wheel_off", "tire_replaced")
Outsides = tuple[Outside, ...]


def mark_trend_faults(records: Sequence[ServiceRecord]) -> None:
    """Make a fault of each job of `records`, all of one rig, of which a figure is out
    of bounds beside those of before, and say so in its note."""
    rows = RecordLine.objects.filter(record__in=records).exclude(measures=[])
    rows = rows.exclude(item=None).order_by("record__on", "pk")
    lines = list(rows.select_related("record__rig__household", "item__component"))
    marked = []
    for line, outside in zip(lines, trend_faults(lines), strict=True):
        if outside:
            line.outcome = Outcome.FAULT_FOUND
            line.note = note_with(outside_words(outside), line.note)
            marked.append(line)
    RecordLine.objects.bulk_update(marked, ["outcome", "note"], batch_size=200)


def trend_words(lines: Sequence[RecordLine]) -> dict[int, str]:
    """By line, what its figures say beside those of before; empty for nothing."""
    found = zip(lines, trend_faults(lines), strict=True)
    return {line.pk: outside_words(outside) for line, outside in found}


def trends_today(item: PlanItem, measures: Sequence[Measured]) -> str:
    """What figures say that were measured today and are not recorded yet."""
    on = item.rig.household.today()
    line = RecordLine(record=ServiceRecord(rig=item.rig, on=on), item=item)
    line.measures = to_data(measures)
    return outside_words(trend_faults([line])[0])


def trend_faults(
    lines: Sequence[RecordLine], judges: Mapping[int, Judge] | None = None
) -> list[Outsides]:
    """Of each of `lines`, all of one rig, its figures that only those of before show to
    be out of bounds; in a number of queries that does not grow with the lines. A line
    that is not saved yet comes after all others of its day."""
    if not lines:
        return []
    procedures = procedures_of(lines[0].record.rig.household)
    asking = [line for line in lines if _trends_of(line, procedures)]
    if not asking:
        return [() for _line in lines]
    past = _Past(asking[0].record.rig, asking)
    found = {
        id(line): tuple(_out(line, past, procedures[line.item.key]))  # type: ignore[union-attr]
        for line in asking
    }
    if not any(found.values()):
        return [() for _line in lines]
    if judges is None:
        judges = judges_of({line.item for line in asking if line.item is not None})
    return [_beside(line, found.get(id(line), ()), judges) for line in lines]


def _beside(
    line: RecordLine, outside: Outsides, judges: Mapping[int, Judge]
) -> Outsides:
    """Without what is past its limit, too: once said is enough."""
    if not outside:
        return ()
    judge = judges.get(line.item_id or 0, Judge())
    past_limits = judge.judge(line.outcome, from_data(line.measures)).outside
    named = [one.figure for one in past_limits]
    return tuple(one for one in outside if one.figure not in named)


def with_trends(judged: Judged, outside: Outsides) -> Judged:
    if not outside:
        return judged
    if not judged.outside:  # nobody's word: no trend makes it unfit to travel
        return Judged(Outcome.FAULT_FOUND, outside)
    return replace(judged, outside=(*outside, *judged.outside))


def _trends_of(line: RecordLine, procedures: Mapping[str, Procedure]) -> bool:
    known = procedures.get(line.item.key) if line.item else None
    return known is not None and bool(known.trends) and bool(line.measures)


def _out(line: RecordLine, past: "_Past", procedure: Procedure) -> Iterator[Outside]:
    told = _numbers(line)
    found = judge_trends(
        [figure_of(one) for one in told], past.looks(line, told), procedure.trends
    )
    for one in found:
        yield Outside(told[one.index], deviation_words(one))


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
        for one in self.lines:
            if one.record_id == line.record_id:
                continue
            on = line.record.on
            later = line.pk is None or one.pk < line.pk
            if last_day(one) < on or (last_day(one) == on and later):
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
