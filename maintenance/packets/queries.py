"""Reading all that a history is made of."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from maintenance.core.calculators.cost import Fill
from maintenance.core.meters import Track
from maintenance.core.timeline import RigTimeline
from maintenance.findings.models import Finding, FindingState
from maintenance.findings.queries import open_findings
from maintenance.plans.life_list import LifeRow, life_list
from maintenance.plans.models import COMPLETING, Completion, Standing
from maintenance.plans.queries import plan_of
from maintenance.plans.use import Use, uses_of
from maintenance.service_records.chain.verifying import Head, head_of
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.queries import records_of_rig, with_lines
from maintenance.vehicles.fuel import fills_of
from maintenance.vehicles.models import Event, Meter, Rig, Stay
from maintenance.vehicles.queries import rig_facts

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
    events: list[Event]
    withdrawn: list[Event]  # those that do not count
    stays: list[Stay]
    parts: list[LifeRow]
    looks: list[DatedRow]  # times that somebody looked the rig over, newest first
    fills: list[Fill]
    head: Head | None = None  # of the chain of records


def material_of(rig: Rig, as_of: date) -> Material:
    meters = rig.meters.prefetch_related("readings", "replacements")
    found = Finding.objects.for_household(rig.household).filter(rig=rig)
    tracks = tracks_of(rig, as_of)
    return Material(
        rig=rig,
        as_of=as_of,
        meters=list(meters),
        tracks=tracks,
        uses=uses_of(rig, as_of),
        records=list(
            records_of_rig(rig)
            .filter(merged_into=None)
            .select_related("voided_by")
            .prefetch_related(
                "events",
                "links",
                "brought_rows__bringing",
                "merged__lines",
                "merged__parts_used",
                "merged__attachments",
                "merged__entered_by",
            )
        ),
        standings=list(plan_of(rig)),
        last_done=last_completions(rig),
        open_findings=list(open_findings(rig.household).filter(rig=rig)),
        findings=list(with_lines(found)),
        events=list(rig.events.filter(withdrawn=False).order_by("-on", "-pk")),
        withdrawn=list(rig.events.filter(withdrawn=True)),
        stays=list(rig.stays.filter(withdrawn=False)),
        parts=life_list(rig, as_of),
        looks=[row for looks_of in LOOKS for row in looks_of(rig)],
        fills=fills_of([rig], {rig.pk: tracks})[rig.pk],
        head=head_of(rig),
    )


def tracks_of(rig: Rig, as_of: date) -> dict[str, Track]:
    """Meter kind -> its good readings over time."""
    known = rig_facts([rig], as_of=as_of)[rig.pk]
    return RigTimeline(known.without_items(), rig.household.calendar, as_of).tracks


def last_completions(rig: Rig) -> dict[int, Completion]:
    rows = Completion.objects.filter(
        item__rig=rig, withdrawn=False, outcome__in=COMPLETING
    )
    return {row.item_id: row for row in rows.order_by("on", "pk")}


def accepted(findings: list[Finding]) -> list[Finding]:
    return [each for each in findings if each.state == FindingState.ACCEPTED]
