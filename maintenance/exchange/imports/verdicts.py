"""The rows of a file as they stand against what is known of the rig."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from maintenance.core import facts
from maintenance.core.meters.track import Scale, good_readings
from maintenance.plans.models import Outcome, PlanItem
from maintenance.service_records.models import RecordLine
from maintenance.service_records.wheels_told import WheelWords
from maintenance.service_records.work import Line
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import meters_of_household
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
        meters={meter.kind: meter.unit for meter in rig.meters.all()},
        jobs={w: by_id[pk] for w, pk in bringing.jobs.items() if pk in by_id},
        today=today,
        in_service_on=rig.in_service_on,
        since_1904=layout.table.since_1904,
        judges=judges_of(by_id.values()),
        wheels=rig.places,
    )


def _with_doubts(bringing: ImportJob, rows: list[Row]) -> list[Row]:
    wrong = _doubtful_readings(bringing, rows)
    logged = _logged_already(bringing)
    made = []
    for row in rows:
        more = []
        if row.verdict in {"good", "doubtful"}:
            if any(
                (kind, row.on, value) in wrong for kind, value in row.values.items()
            ):
                more.append(
                    "Its reading does not fit the others. It is kept as doubtful."
                )
            if (row.on, row.title.casefold()) in logged:
                more.append("A record of this day names the same job already.")
        made.append(replace(row, doubts=(*row.doubts, *more)) if more else row)
    return made


def _doubtful_readings(
    bringing: ImportJob, rows: Iterable[Row]
) -> set[tuple[str, date | None, Decimal]]:
    """(meter, day, value) of the readings that cannot be true beside the others."""
    meters: Mapping[str, facts.Meter] = next(
        (
            meters
            for rig, meters in meters_of_household(bringing.rig.household).items()
            if rig.pk == bringing.rig_id
        ),
        {},
    )
    coming: dict[str, list[facts.Reading]] = {kind: [] for kind in meters}
    for row in rows:
        if row.on and not row.until and row.verdict in {"good", "doubtful"}:
            for kind, value in row.values.items():
                if kind in coming:
                    coming[kind].append(facts.Reading(row.on, value))
    return {
        (kind, reading.on, reading.value)
        for kind, found in coming.items()
        for reading in _doubtful(meters[kind], found)
    }


def _doubtful(
    meter: facts.Meter, coming: list[facts.Reading]
) -> tuple[facts.Reading, ...]:
    both = replace(meter, readings=(*meter.readings, *coming))
    return good_readings(both, Scale(meter.replaced)).doubtful


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
