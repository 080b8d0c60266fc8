"""Correcting a record with a reason.

A correction takes back what the record gave and gives it again from what it says now,
in one transaction. What was done of the follow-ups meanwhile are completions of other
records: they stay, and settle what they reach.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.core.facts import ON_THE_ROAD
from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.measures import from_data
from maintenance.ui.words import day_words
from maintenance.vehicles.services import refuse_future
from maintenance.vehicles.state import refuse_after_sale

from .chain.linking import changing
from .following import WhatFollows, follow_up, standings_before
from .giving import give, wheels_checked
from .journal import take_back
from .models import (
    Attachment,
    FoundOrFixed,
    RecordLine,
    ServiceRecord,
    TorquePlace,
    UnfiledPhoto,
)
from .services import refuse_merged
from .torque import Wheels, check_torque, store_torque
from .trends import mark_trend_faults, trend_words
from .unfiled_photos import file_snaps
from .work import (
    Line,
    Warranty,
    check_lines,
    check_values,
    check_warranty,
    judge_lines,
    without_verdict,
)
from .writing import write_line


@dataclass(frozen=True)
class Amended:
    """A record as it is to read. Each of `lines` comes with the row that it changes
    (None: a new line); rows that are not named are removed. `fields` are plain columns;
    those that are not named stay. `figure` is the specified torque, `reached` what each
    torque place (by id) reached. `wheels`: those that were off, and their torque where
    the record has none; None: as the record says. `removed` files leave the record."""

    on: date
    until: date | None
    lines: Sequence[tuple[RecordLine | None, Line]]
    values: Mapping[str, Decimal]
    fields: Mapping[str, Any] = field(default_factory=dict)
    figure: Decimal | None = None
    reached: Mapping[int, Decimal | None] = field(default_factory=dict)
    wheels: Wheels | None = None
    removed: Sequence[Attachment] = ()
    confirmed: bool = False  # the readings are right, whatever the others say
    questionable: Collection[str] = ()  # meters whose values count nowhere


@transaction.atomic
def amend_record(
    record: ServiceRecord, *, by: Member, today: date, why: str, to: Amended
) -> WhatFollows:
    """Change what a record says; what it said stays readable, with who, when and why.

    Proof that is held under the record's form is added to it.
    """
    require(by, Role.CREW)
    if not why.strip():
        raise Refused(
            "Enter why you're correcting it, like “wrong mileage”.", field="why"
        )
    _refuse_closed(record)
    _check(record, to, today)
    to = replace(to, lines=_judged(to))
    before = standings_before(record.rig)
    with changing(record, by=by, why=why) as change:
        kept = take_back([record], today=today)
        _write(record, to)
        _write_lines(record, to)
        mark_trend_faults([record])
        kinds = {record.pk: to.questionable}
        give([record], by=by, today=today, again=True, questionable=kinds)
    if not change.made:
        raise Refused("Nothing has changed yet. Change something, or cancel.")
    note_activity(by, "corrected record", f"{record.rig}, {day_words(record.on)}")
    return follow_up(
        record.rig, today=today, before=before, records=[record], kept=kept
    )


@transaction.atomic
def add_proof(
    record: ServiceRecord, *, by: Member, snaps: Sequence[UnfiledPhoto], why: str
) -> list[Attachment]:
    """File photos that were snapped with a record that is there already."""
    require(by, Role.CREW)
    if not why.strip():
        raise Refused(
            "Enter why you're adding it later, like “found the receipt”.", field="why"
        )
    _refuse_closed(record)
    with changing(record, by=by, why=why):
        return file_snaps(record, by=by, snaps=snaps)


def _refuse_closed(record: ServiceRecord) -> None:
    if record.voided_at is not None:
        raise Refused("This record is void, so it can't be changed.")
    refuse_merged(record)


def _check(record: ServiceRecord, to: Amended, today: date) -> None:
    last_day = to.until or to.on
    refuse_future(last_day, today, "until" if to.until else "on")
    refuse_after_sale(record.rig, last_day, "until" if to.until else "on")
    lines = [line for _row, line in to.lines]
    check_lines(record.rig, to.on, to.until, lines)
    check_values(record.rig, to.values)
    check_torque(record.rig, to.wheels or Wheels(), held=False)
    check_warranty(record.rig, last_day, to.values, _warranty(record, to))


def _judged(to: Amended) -> list[tuple[RecordLine | None, Line]]:
    """By the figures as they are now; what the old ones had said of it is taken out."""
    rows = [row for row, _line in to.lines]
    said = trend_words([row for row in rows if row is not None])
    lines = [
        line if row is None else replace(line, note=_without_verdict(line, row, said))
        for row, line in to.lines
    ]
    return list(zip(rows, judge_lines(lines), strict=True))


def _without_verdict(line: Line, row: RecordLine, trends: Mapping[int, str]) -> str:
    note = line.note.replace(trends[row.pk], "").strip("; ")
    return without_verdict(note, row.item, from_data(row.measures))


def _warranty(record: ServiceRecord, to: Amended) -> Warranty:
    names = ("until", "meter", "value", "covers")
    columns = {name: f"warranty_{name}" for name in names}
    return Warranty(**{
        name: to.fields.get(column, getattr(record, column))
        for name, column in columns.items()
    })  # fmt: skip


def _write(record: ServiceRecord, to: Amended) -> None:
    """All rows but the lines."""
    record.on, record.until = to.on, to.until
    record.values = _values(record, to.values)
    record.values_confirmed = record.values_confirmed or to.confirmed
    for name, value in to.fields.items():
        setattr(record, name, value)
    if to.wheels is not None:
        record.wheels_off = [x for x in record.rig.places if x in to.wheels.off]
    record.save()
    _write_torque(record, to)
    gone = [file.pk for file in to.removed]
    # The file stays where it lies: what was shown once can be shown again.
    record.attachments.filter(pk__in=gone).update(record=None, form_token=UNHELD)
    held = Attachment.objects.filter(record=None, form_token=record.form_token)
    held.filter(rig=record.rig).update(record=record)


def _write_torque(record: ServiceRecord, to: Amended) -> None:
    check = getattr(record, "torque", None)
    if check is None:
        store_torque(record, to.wheels or Wheels())
    elif to.figure is not None:
        check.figure = to.figure
        check.save(update_fields=["figure"])
    for pk, value in to.reached.items():
        TorquePlace.objects.filter(pk=pk, check_of__record=record).update(reached=value)


def _values(record: ServiceRecord, values: Mapping[str, Decimal]) -> dict[str, str]:
    """42310.0 is what 42310 was: an unchanged figure keeps its digits. What was told of
    the road stays unless it is told otherwise."""
    old = record.values
    kept = {name: old[name] for name in sorted(ON_THE_ROAD & old.keys())}
    return kept | {
        meter: old[meter]
        if meter in old and Decimal(old[meter]) == value
        else str(value)
        for meter, value in values.items()
    }


UNHELD = "00000000-0000-0000-0000-000000000000"  # the token of no form


def _write_lines(record: ServiceRecord, to: Amended) -> None:
    kept = {row.pk for row, _line in to.lines if row is not None}
    record.lines.exclude(pk__in=kept).delete()
    _checked, moved = wheels_checked(record)
    wheels = Wheels(off=frozenset(record.wheels_off), moved=moved)
    for position, (before, line) in enumerate(to.lines):
        row = before or RecordLine(record=record)
        item = row.item_id
        write_line(row, position, line, wheels)
        row.save()
        if row.item_id != item:  # other work: what the old one put right it did not
            row.finding_links.filter(how=FoundOrFixed.FIXED).delete()
