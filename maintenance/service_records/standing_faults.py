"""Which faults of records still stand: of figures of the past only the newest at a
place counts, on what is fitted there now.

A line counts as after another by its first day against the other's last; on one day,
by the order of entry.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import Q, QuerySet

from maintenance.plans.measures import Measured, from_data
from maintenance.plans.models import Outcome
from maintenance.vehicles.models import WHEEL_PLACES, Rig
from maintenance.work_sheets.judging import (
    Judge,
    Judged,
    Outside,
    judges_of,
    outside_words,
)

from .models import RecordLine
from .parts_then import Parts, last_day
from .trends import trend_faults, with_trends


@dataclass(frozen=True, slots=True)
class Fault:
    """What of a line is still not right."""

    line: RecordLine
    what: str
    unfit: bool


def standing_faults(
    rig: Rig, lines: QuerySet[RecordLine], *, newest_words: bool = False
) -> list[Fault]:
    """Faults of the lines, all of one rig, that still stand; as many queries for many
    lines as for one.

    A fault told by a figure stands while no newer figure and no other part took its
    place. One told in words stands; with `newest_words` only where no later work on the
    same job is known.
    """
    faults = list(lines.select_related("record", "item__component", "item__rig"))
    if not faults:
        return []
    known = _Known(rig, faults)
    return [fault for one in faults for fault in known.of(one, newest_words)]


class _Known:
    """What is known of the rig since the first of the faults."""

    def __init__(self, rig: Rig, faults: Sequence[RecordLine]) -> None:
        self.rig = rig
        items = {x.item for x in faults if x.item is not None}
        self.judges = judges_of(items)
        trends = zip(faults, trend_faults(faults, self.judges), strict=True)
        self.trends = {line.pk: outside for line, outside in trends}
        self.parts = Parts(rig, {x.component_id for x in items if x.component_id})
        first = min(last_day(line) for line in faults)
        rows = RecordLine.objects.filter(
            Q(item__in=items) | Q(item=None) | ~Q(measures=[]),
            record__rig=rig,
            record__voided_at=None,
            record__on__gte=first,
        ).exclude(outcome=Outcome.NOT_DONE)
        # The newest: its first day and its id, by job and by what was measured.
        self.jobs: dict[object, list[tuple[date, int]]] = {}
        self.figures: dict[object, list[tuple[date, int]]] = {}
        for row in rows.select_related("record"):
            self.jobs.setdefault(_job(row), []).append((row.record.on, row.pk))
            for figure in from_data(row.measures):
                what = self._measured(row, figure)
                self.figures.setdefault(what, []).append((row.record.on, row.pk))

    def of(self, line: RecordLine, newest_words: bool) -> Iterator[Fault]:
        judged = self._judged(line)
        item = line.item
        if not judged.outside:
            gone = item is not None and self.parts.gave_way(item.component_id, line)
            later = is_later(line, self.jobs.get(_job(line), ()))
            if not newest_words or not (gone or later):
                unfit = judged.unfit or self._own_unfit(line)
                yield Fault(line, _words(line, line.note), unfit)
            return
        left = [
            self._as_now(line, one) for one in judged.outside if self._stands(line, one)
        ]
        if left:
            note = line.note.replace(judged.words, outside_words(left))
            yield Fault(line, _words(line, note), judged.unfit)

    def _own_unfit(self, line: RecordLine) -> bool:
        """Of a job without a procedure, such as one that a finding became."""
        own = self._judge(line).procedure is None
        return own and line.item is not None and line.item.unfit

    def _judge(self, line: RecordLine) -> Judge:
        return self.judges.get(line.item_id or 0, Judge())

    def _judged(self, line: RecordLine) -> Judged:
        judged = self._judge(line).judge(line.outcome, from_data(line.measures))
        return with_trends(judged, self.trends[line.pk])

    def _stands(self, line: RecordLine, outside: Outside) -> bool:
        figure = outside.figure
        if is_later(line, self.figures.get(self._measured(line, figure), ())):
            return False
        if figure.place in WHEEL_PLACES:
            return not self.parts.tire_gave_way(figure.place, line)
        component = line.item.component_id if line.item else None
        return not self.parts.gave_way(component, line)

    def _as_now(self, line: RecordLine, outside: Outside) -> Outside:
        """A tire that was put elsewhere since is named where it is."""
        figure = outside.figure
        tire = self.parts.tire_at(figure.place, last_day(line))
        now = tire.component.place if tire else ""
        if not now or now == figure.place:
            return outside
        place = f"{figure.place}, now {now},"
        return replace(outside, figure=replace(figure, place=place))

    def _measured(self, line: RecordLine, figure: Measured) -> object:
        """What was measured: at a wheel the tire, whatever job it was measured at;
        else the thing at its place, for this job."""
        name = figure.name.casefold()
        if figure.place in WHEEL_PLACES:
            tire = self.parts.tire_at(figure.place, last_day(line))
            return name, tire.component_id if tire else figure.place
        return name, figure.place.casefold(), f"item {line.item_id}"


def is_later(line: RecordLine, others: Iterable[tuple[date, int]]) -> bool:
    """Whether one of the others, by first day and id, comes after the line."""
    mine = (last_day(line), line.pk)
    return any(other > mine for other in others)


def _job(line: RecordLine) -> object:
    return line.item_id or line.title.casefold()


def _words(line: RecordLine, note: str) -> str:
    return f"{line.title}: {note}" if note else line.title
