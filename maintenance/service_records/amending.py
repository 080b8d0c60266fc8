"""Putting a record right: undone while it is fresh, amended with a reason after.

An amendment takes back what the record gave (completions, readings, events) and gives
it anew from what it says now, in one transaction. What was done of the follow-ups
meanwhile are completions of other records: they stay, and settle what they reach.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.doing.measures import to_data
from maintenance.plans.models import COMPLETING, Completion
from maintenance.plans.services import withdraw_completions
from maintenance.ui.words import day_words
from maintenance.vehicles.services import refuse_future, withdraw

from . import services as work
from .chain.linking import changing, may_be_undone
from .models import Attachment, RecordLine, ServiceRecord, Snap, TorquePlace
from .services import WHEEL_OFF, Line
from .snaps import file_snaps
from .torque import Wheels
from .warranty import check_warranty, renew_warranty


@dataclass(frozen=True)
class Amended:
    """A record as it is to read. Each of `lines` comes with the row that it changes
    (None: a new line); rows that are not named are removed. `fields` are plain columns;
    those that are not named stay. `figure` is the specified torque, `reached` what each
    torque place (by id) reached. `removed` files leave the record."""

    on: date
    until: date | None
    lines: Sequence[tuple[RecordLine | None, Line]]
    values: Mapping[str, Decimal]
    fields: Mapping[str, Any] = field(default_factory=dict)
    figure: Decimal | None = None
    reached: Mapping[int, Decimal | None] = field(default_factory=dict)
    removed: Sequence[Attachment] = ()
    confirmed: bool = False  # the readings are right, whatever the others say


@transaction.atomic
def amend_record(
    record: ServiceRecord, *, by: Member, today: date, why: str, to: Amended
) -> ServiceRecord:
    """Change what a record says; what it said stays readable, with who, when and why.

    Proof that is held under the record's form is added to it.
    """
    require(by, Role.CREW)
    if not why.strip():
        raise Refused(_("Say why it is amended."), field="why")
    _refuse_closed(record)
    refuse_future(to.until or to.on, today, "until" if to.until else "on")
    lines = [line for _row, line in to.lines]
    work.check_work(record.rig, to.on, to.until, lines, Wheels())
    check_warranty(
        record.rig, to.until or to.on, dict(to.values), _warranty(record, to)
    )
    with changing(record, by=by, why=why) as change:
        off = _wheels_off(record)
        trusted = to.confirmed or record.readings.filter(confirmed=True).exists()
        _take_back(record)
        _write(record, to)
        _give(record, by, today, replace(to, confirmed=trusted), off)
    if not change.made:
        raise Refused(_("Nothing was changed."))
    renew_warranty(record, today=today)
    note_activity(by, "amended record", f"{record.rig}, {day_words(record.on)}")
    work._renew(record.rig, today)
    return record


@transaction.atomic
def add_proof(
    record: ServiceRecord, *, by: Member, snaps: Sequence[Snap], why: str
) -> list[Attachment]:
    """File photos that were snapped with a record that is there already."""
    require(by, Role.CREW)
    if not why.strip():
        raise Refused(_("Say why it is added later."), field="why")
    _refuse_closed(record)
    with changing(record, by=by, why=why):
        return file_snaps(record, by=by, snaps=snaps)


def _refuse_closed(record: ServiceRecord) -> None:
    if record.voided_at is not None:
        raise Refused(_("This record is void; it stays as it is."))
    if record.merged_into_id is not None or record.merged.exists():
        raise Refused(_("It is one with another record: take them apart first."))


def _warranty(record: ServiceRecord, to: Amended) -> dict[str, Any]:
    names = ("warranty_until", "warranty_meter", "warranty_value", "warranty_covers")
    return {name: to.fields.get(name, getattr(record, name)) for name in names}


def _take_back(record: ServiceRecord) -> None:
    """What it gave; what it used stays out of stock."""
    withdraw(readings=record.readings.all(), events=record.events.all())
    withdraw_completions(Completion.objects.filter(record_lines__record=record))
    # What it gives from now on is its own; what it once said stands in its links.
    record.readings.clear()
    record.events.clear()
    for line in record.lines.all():
        line.completions.clear()


def _write(record: ServiceRecord, to: Amended) -> None:
    """All rows but the lines."""
    record.on, record.until = to.on, to.until
    record.values = _values(record, to.values)
    for name, value in to.fields.items():
        setattr(record, name, value)
    record.save()
    check = getattr(record, "torque", None)
    if check is not None and to.figure is not None:
        check.figure = to.figure
        check.save(update_fields=["figure"])
    for pk, value in to.reached.items():
        TorquePlace.objects.filter(pk=pk, check_of__record=record).update(reached=value)
    gone = [file.pk for file in to.removed]
    # The file stays where it lies: what was shown once can be shown again.
    record.attachments.filter(pk__in=gone).update(record=None, form_token=UNHELD)
    held = Attachment.objects.filter(record=None, form_token=record.form_token)
    held.filter(rig=record.rig).update(record=record)


def _values(record: ServiceRecord, values: Mapping[str, Decimal]) -> dict[str, str]:
    """42310.0 is what 42310 was: an unchanged figure keeps its digits."""
    old = record.values
    return {
        meter: old[meter]
        if meter in old and Decimal(old[meter]) == value
        else str(value)
        for meter, value in values.items()
    }


UNHELD = "00000000-0000-0000-0000-000000000000"  # the token of no form


def _give(
    record: ServiceRecord, by: Member, today: date, to: Amended, off: frozenset[str]
) -> None:
    """As `log_service` does, from what the record says now."""
    wheels = _wheels(record, off)
    if record.until is None:
        record.readings.add(
            *work._store_readings(record.rig, by, record.on, to.values, to.confirmed)
        )
    kept = {row.pk for row, _line in to.lines if row is not None}
    _remove_lines(record, kept)
    made = [
        _write_line(row or RecordLine(record=record), by, position, line, wheels)
        for position, (row, line) in enumerate(to.lines)
    ]
    work._tell_expiries([line for _row, line in to.lines], today)
    record.events.add(*work._raise_events(record, by, made, wheels))


def _remove_lines(record: ServiceRecord, kept: set[int]) -> None:
    record.lines.exclude(pk__in=kept).delete()


def _write_line(
    row: RecordLine, by: Member, position: int, line: Line, wheels: Wheels
) -> RecordLine:
    row.position, row.item, row.title = position, line.item, line.title
    row.outcome, row.note = work._outcome(line, wheels), line.note
    row.measures = to_data(line.measures)
    row.steps = [list(step) for step in line.steps]
    row.save()
    if line.item is not None and row.outcome in COMPLETING:
        done = work._complete(row.record, by, line.item, row.outcome, wheels)
        row.completions.add(*done)
    return row


def _wheels_off(record: ServiceRecord) -> frozenset[str]:
    """Of which wheels it says that they were off."""
    events = record.events.filter(kind=WHEEL_OFF, withdrawn=False)
    return frozenset(place for event in events for place in event.places or ())


def _wheels(record: ServiceRecord, off: frozenset[str]) -> Wheels:
    check = getattr(record, "torque", None)
    if check is None:
        return Wheels(off=off)
    places = [row for row in check.places.all() if row.place in record.rig.places]
    return Wheels(
        off=off,
        figure=check.figure,
        unit=check.unit,
        origin=check.origin,
        reached={row.place: row.reached for row in places if row.reached is not None},
        moved=frozenset(row.place for row in places if row.moved),
    )


@transaction.atomic
def undo_record(
    record: ServiceRecord, *, by: Member, now: datetime, today: date
) -> None:
    """Remove a record that was just entered, with all that it gave. Its files are held
    under its form again."""
    require(by, Role.CREW)
    if not may_be_undone(record, now):
        raise Refused(
            _("It can be undone within ten minutes of its entry. Amend or void it.")
        )
    rig, on = record.rig, record.on
    work.take_back(record)
    record.voided_at = now  # so that its warranty leaves the plan
    renew_warranty(record, today=today)
    readings, events = list(record.readings.all()), list(record.events.all())
    completions = list(Completion.objects.filter(record_lines__record=record))
    record.attachments.update(record=None)
    record.delete()
    for row in (*readings, *events, *completions):
        row.delete()
    note_activity(by, "undid record", f"{rig}, {day_words(on)}")
    work._renew(rig, today)
