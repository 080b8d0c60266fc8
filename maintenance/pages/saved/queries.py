"""What the page after saving shows of a record, in a fixed number of queries."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from maintenance.core.facts import TOW_ODOMETER
from maintenance.core.triggers import FOLLOW_UPS
from maintenance.core.units import show, show_number
from maintenance.findings.models import Finding
from maintenance.plans.models import Standing
from maintenance.plans.queries import kinds_followed, plan_of, procedure_of
from maintenance.plans.rows import Row, row_of
from maintenance.service_records.chain.linking import UNDO_FOR, may_be_undone
from maintenance.service_records.models import ServiceRecord
from maintenance.service_records.queries import findings_of_record
from maintenance.ui.words import WHO_WORDS, day_span_words, money_words

STILL_DUE = 3
DUE = ("overdue", "due")
# The kind of an event, and at which places; none where the rig has none.
HungBy = list[tuple[str, frozenset[str]]]


@dataclass(frozen=True, slots=True)
class NewTag:
    """A check that follows the work: its window in the row, its figure if known."""

    row: Row
    figure: Decimal | None
    unit: str
    minutes: int | None
    who: str
    places: str


@dataclass(frozen=True, slots=True)
class SavedPage:
    """`undo_minutes`: 0 once the record cannot be undone any more."""

    record: ServiceRecord
    titles: list[str]
    facts: list[tuple[str, str]]
    tags: list[NewTag]
    findings: list[Finding]
    still_due: list[Row]
    undo_minutes: int


def saved_page(record: ServiceRecord, today: date, now: datetime) -> SavedPage:
    standings = list(plan_of(record.rig))
    hung_by = _hung_by(record)
    tags = [_tag(record, row, today) for row in standings if _hangs(row, hung_by)]
    hung = {tag.row.item.pk for tag in tags}
    due = [
        row_of(row, today)
        for row in sorted(standings, key=lambda x: x.rank)
        if row.standing in DUE and row.item_id not in hung
    ]
    return SavedPage(
        record=record,
        titles=[line.title for line in record.lines.all()],
        facts=[(name, words) for name, words in _facts(record) if words],
        tags=tags,
        findings=list(findings_of_record(record).filter(withdrawn=False)),
        still_due=due[:STILL_DUE],
        undo_minutes=_minutes_left(record, now),
    )


def _minutes_left(record: ServiceRecord, now: datetime) -> int:
    if not may_be_undone(record, now):
        return 0
    left = UNDO_FOR - (now - record.entered_at)
    return max(1, left // timedelta(minutes=1))


def _hung_by(record: ServiceRecord) -> HungBy:
    """What happened with this work, and where it is what a check counts from still:
    the same again later at a place has a check of its own there."""
    mine = {one.pk: one for one in record.events.all() if not one.withdrawn}
    if not mine:
        return []
    later = record.rig.events.filter(withdrawn=False, on__gte=record.on)
    since = [one for one in later.exclude(pk__in=mine) if one.pk > max(mine)]
    every = frozenset(record.rig.places)
    found = []
    for event in mine.values():
        again = [one.places or every for one in since if one.kind == event.kind]
        left = frozenset(event.places or every).difference(*again)
        if left or not (every or again):
            found.append((event.kind, left))
    return found


def _hangs(row: Standing, hung_by: HungBy) -> bool:
    """A check that waits, asked for after one of these."""
    waiting = [one.places for one in row.pending if one.kind in FOLLOW_UPS]
    if not (waiting and hung_by):
        return False
    kinds = kinds_followed(row.item)
    return any(
        kind in kinds and (places is None or not where or places & where)
        for kind, where in hung_by
        for places in waiting
    )


def _tag(record: ServiceRecord, standing: Standing, today: date) -> NewTag:
    torque = getattr(record, "torque", None) if record.wheels_off else None
    procedure = procedure_of(standing.item)
    places = {x for one in standing.pending for x in one.places or ()}
    return NewTag(
        row=row_of(standing, today),
        figure=torque.figure if torque else None,
        unit=torque.unit if torque else "",
        minutes=procedure.minutes if procedure else None,
        who=WHO_WORDS[procedure.who] if procedure else "",
        places=", ".join(x for x in record.rig.places if x in places),
    )


def _facts(record: ServiceRecord) -> Iterator[tuple[str, str]]:
    """Each with its words; empty where nothing was said."""
    yield "Day", day_span_words(record.on, record.until)
    meters = {one.kind: (str(one), one.unit) for one in record.rig.meters.all()}
    meters[TOW_ODOMETER] = ("Odometer of the tow vehicle", "")
    for kind, value in record.values.items():
        if kind in meters:
            name, unit = meters[kind]
            amount = Decimal(value)
            yield name, show(amount, unit) if unit else show_number(amount)
    yield "Who", f"{record.doer} ({record.get_done_by_display()})"
    yield (
        "How it went",
        ", ".join(
            dict.fromkeys(line.get_outcome_display() for line in record.lines.all())
        ),
    )
    yield "Wheels off", ", ".join(record.wheels_off)
    torque = getattr(record, "torque", None)
    if torque:
        origin = torque.get_origin_display().lower()
        yield "Specified", f"{show(torque.figure, torque.unit)}, {origin}"
        reached = [
            f"{one.place} {show_number(one.reached)}"
            for one in torque.places.all()
            if one.reached is not None
        ]
        yield "Reached", ", ".join(reached) or "not written down"
        held = [one.place for one in torque.places.all() if one.held]
        yield "Held", ", ".join(held)
    if record.total is not None:
        yield "Cost", money_words(record.total, record.currency)
    files = len(record.attachments.all())
    yield "Photos and files", str(files) if files else ""
