"""Reading all that a history is made of."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch

from maintenance.components.queries import parts_of
from maintenance.core.calculators.cost import Fill
from maintenance.core.meters import Track
from maintenance.findings.models import Finding, FindingState
from maintenance.plans.life_list import LifeRow, life_list
from maintenance.plans.models import COMPLETING, Completion, Standing
from maintenance.plans.queries import plan_of, withdrawn_causes
from maintenance.plans.use import Use, timeline_of, uses_of
from maintenance.service_records.chain.verifying import Head, head_of
from maintenance.service_records.models import RecordLine, ServiceRecord
from maintenance.service_records.queries import with_lines
from maintenance.vehicles.fuel import fills_of, stops_of
from maintenance.vehicles.models import Event, Meter, Rig, Stay

from .history.model import DatedRow

# What else knows of times that a rig was looked over; pages hands it in.
LOOKS: list[Callable[[Rig], Sequence[DatedRow]]] = []


@dataclass(frozen=True, slots=True)
class Material:
    """The rows behind a rig's history, read in a fixed number of queries."""

    rig: Rig
    as_of: date
    meters: list[Meter]
    tracks: dict[str, Track]
    uses: dict[str, Use]  # meter kind -> what was read and what is expected
    records: list[ServiceRecord]
    standings: list[Standing]
    last_done: dict[int, Completion]  # plan item id -> its last completion
    open_findings: list[Finding]
    findings: list[Finding]
    causes: dict[tuple[int, date], Event]  # as `withdrawn_causes` gives them
    events: list[Event]
    stays: list[Stay]
    parts: list[LifeRow]
    looks: list[DatedRow]  # times that somebody looked the rig over, newest first
    fills: list[Fill]
    head: Head | None = None  # of the chain of records


def material_of(rig: Rig, as_of: date) -> Material:
    found = Finding.objects.for_household(rig.household).filter(rig=rig)
    findings, records = list(with_lines(found)), _records(rig)
    timeline = timeline_of(rig, as_of)
    parts = parts_of(rig)
    return Material(
        rig=rig,
        as_of=as_of,
        meters=list(rig.meters.prefetch_related("readings", "replacements")),
        tracks=timeline.tracks,
        uses=uses_of(timeline),
        records=records,
        causes=_causes(records),
        standings=list(plan_of(rig)),
        last_done=last_completions(rig),
        open_findings=[
            one
            for one in findings
            if one.is_open and not one.withdrawn and rig.sold_on is None
        ],
        findings=findings,
        events=list(rig.events.filter(withdrawn=False).order_by("-on", "-pk")),
        stays=list(rig.stays.filter(withdrawn=False)),
        parts=life_list(parts, as_of, {rig.pk: timeline}),
        looks=[row for looks_of in LOOKS for row in looks_of(rig)],
        fills=fills_of(stops_of([rig]), {rig.pk: timeline.tracks})[rig.pk],
        head=head_of(rig),
    )


def _records(rig: Rig) -> list[ServiceRecord]:
    lines = RecordLine.objects.select_related("item")
    merged = ServiceRecord.objects.select_related("entered_by")
    return list(
        rig.records.filter(merged_into=None)
        .select_related("torque", "entered_by", "voided_by")
        .prefetch_related(
            Prefetch("lines", lines),
            "torque__places",
            "parts_used",
            "attachments",
            "events",
            "links",
            "brought_rows__bringing",
            Prefetch("merged", merged),
            Prefetch("merged__lines", lines),
            "merged__parts_used",
            "merged__attachments",
        )
    )


def _causes(records: list[ServiceRecord]) -> dict[tuple[int, date], Event]:
    return withdrawn_causes(
        [
            (line.item, each.on)
            for row in records
            for each in (row, *row.merged.all())
            for line in each.lines.all()
            if line.item is not None
        ]
    )


def last_completions(rig: Rig) -> dict[int, Completion]:
    rows = Completion.objects.filter(
        item__rig=rig, withdrawn=False, outcome__in=COMPLETING
    )
    return {row.item_id: row for row in rows.order_by("on", "pk")}


def accepted(findings: list[Finding]) -> list[Finding]:
    return [each for each in findings if each.state == FindingState.ACCEPTED]
