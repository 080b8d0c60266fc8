"""The last times an item's work was done or tried, with what was measured."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from maintenance.core.units import show_number
from maintenance.plans.event_words import event_words
from maintenance.plans.measures import from_data, in_words
from maintenance.plans.models import Completion, Outcome, PlanItem
from maintenance.plans.queries import withdrawn_causes
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Event

TIMES = 3


@dataclass(frozen=True, slots=True)
class Time:
    """`record` is its id; None where nothing was recorded with it."""

    on: date
    outcome: str
    record: int | None
    measured: tuple[str, ...] = ()
    note: str = ""
    cause: str = ""  # what it followed, where that was withdrawn since


def last_times(item: PlanItem) -> list[Time]:
    """The newest first; voided records are left out."""
    lines = (
        item.record_lines.filter(record__voided_at__isnull=True)
        .select_related("record__torque")
        .prefetch_related("record__torque__places")
        .order_by("-record__on", "-pk")[:TIMES]
    )
    own = [_recorded(line) for line in lines]
    # Work on something else can renew this item; then another item's line holds it.
    others = (
        item.completions.filter(withdrawn=False)
        .exclude(record_lines__item=item)
        .prefetch_related("record_lines")
        .order_by("-on", "-pk")[:TIMES]
    )
    times = own + [_renewed(row) for row in others]
    newest = sorted(times, key=lambda one: one.on, reverse=True)[:TIMES]
    causes = withdrawn_causes([(item, one.on) for one in newest])
    return [
        replace(one, cause=cause_words(causes.get((item.pk, one.on)))) for one in newest
    ]


def cause_words(event: Event | None) -> str:
    """“wheel off, 1 May 2026”, of what work followed and was withdrawn since."""
    return f"{event_words(event.kind)}, {day_words(event.on)}" if event else ""


def _recorded(line: Any) -> Time:
    return Time(
        on=line.record.on,
        outcome=str(Outcome(line.outcome).label),
        record=line.record_id,
        measured=(*in_words(from_data(line.measures)), *_torque(line.record)),
        note=line.note,
    )


def _torque(record: Any) -> Iterator[str]:
    """Wheel by wheel, where the record has a torque check."""
    check = getattr(record, "torque", None)
    if check is None:
        return
    reached = [
        f"{one.place} {show_number(one.reached)}"
        for one in check.places.all()
        if one.reached is not None
    ]
    held = [one.place for one in check.places.all() if one.held]
    moved = [one.place for one in check.places.all() if one.moved]
    figure = f"{show_number(check.figure)} {check.unit}"
    yield f"torque {figure}: {', '.join(reached)}" if reached else f"torque {figure}"
    if held:
        yield f"held at {', '.join(held)}"
    if moved:
        yield f"a nut moved at {', '.join(moved)}"


def _renewed(row: Completion) -> Time:
    line = next(iter(row.record_lines.all()), None)
    return Time(
        on=row.on,
        outcome=str(Outcome(row.outcome).label),
        record=line.record_id if line else None,
        note=f"with: {line.title}" if line else "",
    )
