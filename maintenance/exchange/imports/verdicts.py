"""The rows of a file as they stand against what is known of the rig."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import pairwise

from maintenance.core import facts
from maintenance.core.meters import Verdict, is_long, judge_value
from maintenance.core.meters.track import Scale, good_readings
from maintenance.core.units import show
from maintenance.plans.models import Outcome, PlanItem
from maintenance.service_records.models import RecordLine
from maintenance.service_records.wheels_told import WheelWords
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import meters_of_rig, meters_shown
from maintenance.work_sheets.judging import judges_of

from ..models import ImportedRow, ImportJob
from .files import table_of
from .layout import Layout
from .rows import Row, Way, read_rows


@dataclass(frozen=True)
class Judged:
    """All rows of a file with their verdicts."""

    rows: list[Row]

    @property
    def counts(self) -> Counter[str]:
        return Counter(row.verdict for row in self.rows)

    def to_come(self, *, with_doubtful: bool) -> list[Row]:
        wanted = {"good", "doubtful"} if with_doubtful else {"good"}
        return [row for row in self.rows if row.verdict in wanted]


# Meter, day and value of a figure that does not fit -> what to say of it.
Wrong = dict[tuple[str, date | None, Decimal], str]


def told_of_wheels(rig: Rig, rows: Iterable[Row]) -> list[Row]:
    """Rows in whose words wheels were off, though no job of the library says so."""
    words = WheelWords(rig)
    found = ((row, words.work_in([line_of(row)], row.notes)) for row in rows)
    return [row for row, work in found if work is not None and not work.surely]


def line_of(row: Row) -> Line:
    outcome = row.outcome or Outcome.DONE
    return Line(row.title, row.item, outcome, row.note, row.measures)


def layout_of(bringing: ImportJob) -> Layout:
    columns = {int(n): holds for n, holds in bringing.columns.items()}
    return Layout(table_of(bringing), columns)


def judge(bringing: ImportJob, *, today: date) -> Judged:
    """Every row with its verdict; a few queries, however many rows."""
    layout = layout_of(bringing)
    rows = read_rows(layout, _way(bringing, layout, today))
    known = set(
        ImportedRow.objects.filter(rig=bringing.rig, withdrawn=False).values_list(
            "digest", flat=True
        )
    )
    rows = [replace(row, known=row.digest in known) for row in rows]
    return Judged(_with_doubts(bringing, rows))


def _way(bringing: ImportJob, layout: Layout, today: date) -> Way:
    rig = bringing.rig
    items = PlanItem.objects.filter(rig=rig, pk__in=set(bringing.jobs.values()))
    by_id = {item.pk: item for item in items.select_related("rig__household")}
    return Way(
        order=bringing.day_order or None,  # type: ignore[arg-type]
        comma=bool(bringing.decimal_comma),
        unit=bringing.distance_unit or rig.household.distance_unit,
        meters={meter.kind: meter.unit for meter in meters_shown(rig)},
        jobs={w: by_id[pk] for w, pk in bringing.jobs.items() if pk in by_id},
        today=today,
        in_service_on=rig.in_service_on,
        since_1904=layout.table.since_1904,
        judges=judges_of(by_id.values()),
        wheels=rig.places,
    )


def _with_doubts(bringing: ImportJob, rows: list[Row]) -> list[Row]:
    wrong = _questionable(bringing, rows)
    logged = _logged_already(bringing)
    return [_with_doubt(row, wrong, logged) for row in rows]


def _with_doubt(row: Row, wrong: Wrong, logged: set[tuple[date, str]]) -> Row:
    if row.verdict not in {"good", "doubtful"}:
        return row
    asked = {
        kind: words
        for kind, value in row.values.items()
        if (words := wrong.get((kind, row.on, value)))
    }
    more = [*row.doubts, *asked.values()]
    if row.on and (row.on, row.title.casefold()) in logged:
        more.append("A record on this day already has the same job.")
    return replace(row, doubts=tuple(more), questionable=frozenset(asked))


def _questionable(bringing: ImportJob, rows: Iterable[Row]) -> Wrong:
    """Meter, day and value of the figures that do not fit the rig's readings and those
    of the other rows -> what to say of it."""
    meters = meters_of_rig(bringing.rig)
    coming: dict[str, list[facts.Reading]] = {kind: [] for kind in meters}
    for row in rows:
        if row.on and not row.until and row.verdict in {"good", "doubtful"}:
            for kind, value in row.values.items():
                if kind in coming:
                    coming[kind].append(facts.Reading(row.on, value))
    return {
        (kind, reading.on, reading.value): _words(verdict)
        for kind, found in coming.items()
        for reading, verdict in _asked_about(meters[kind], found)
    }


def _asked_about(
    meter: facts.Meter, coming: list[facts.Reading]
) -> Iterator[tuple[facts.Reading, Verdict]]:
    """Those of the coming readings that do not fit. The gate is asked about what cannot
    be, and about long ways: the rest fits anyway."""
    both = replace(meter, readings=(*meter.readings, *coming))
    good = good_readings(both, Scale(meter.replaced))
    suspects = set(good.doubtful)
    steps = pairwise(zip(good.readings, good.values, strict=True))
    for (first, low), (then, high) in steps:
        if is_long(high - low, (then.on - first.on).days, meter.unit):
            suspects |= {first, then}
    for reading in coming:
        if reading in suspects:
            verdict = judge_value(both, reading)
            if not verdict.fits:
                yield reading, verdict


def _words(verdict: Verdict) -> str:
    words = "Its reading doesn't fit the others. It's kept as questionable."
    if verdict.possible:
        words = (
            "Its reading is far beyond the rig's usual use. It's kept as questionable."
        )
    for one in verdict.intended[:1]:
        words += f" Did you mean {show(one.value, one.unit)}?"
    return words


def _logged_already(bringing: ImportJob) -> set[tuple[date, str]]:
    """Day and job of records that did not come from a file."""
    lines = RecordLine.objects.filter(
        record__rig=bringing.rig,
        record__voided_at__isnull=True,
        record__brought_rows__isnull=True,
    )
    return {
        (on, title.casefold())
        for on, title in lines.values_list("record__on", "title").iterator()
    }
