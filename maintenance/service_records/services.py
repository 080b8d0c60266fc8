"""Logging work: one record, its completions, readings, and the events it raises."""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from maintenance.households.access import require
from maintenance.households.activity import note_activity
from maintenance.households.changes import inputs_changed
from maintenance.households.models import Member, Role
from maintenance.households.refusals import Refused
from maintenance.plans.doing.measures import EXPIRES, Measured, from_data, to_data
from maintenance.plans.doing.papers import forget_expiry, tell_expiry
from maintenance.plans.doing.sheet import clear as clear_sheet
from maintenance.plans.models import COMPLETING, Completion, Outcome, PlanItem
from maintenance.plans.procedures import Procedure
from maintenance.plans.queries import procedure_of, procedures_of
from maintenance.plans.services import complete, withdraw_completions
from maintenance.supplies.models import Supply
from maintenance.supplies.stock import put_in, take_out
from maintenance.ui.words import day_words
from maintenance.vehicles.models import Event, Reading, Rig
from maintenance.vehicles.services import (
    refuse_future,
    store_event,
    store_reading,
    withdraw,
)

from .chain.linking import changing
from .models import (
    Attachment,
    LinkKind,
    PartUsed,
    RecordLine,
    ServiceRecord,
    SupplyUsed,
)
from .torque import Wheels, check_torque, store_torque
from .warranty import check_warranty, renew_warranty

WHEEL_OFF = "wheel_off"


@dataclass(frozen=True)
class Line:
    """One job as the form gives it: an item of the plan, or free words."""

    title: str
    item: PlanItem | None = None
    outcome: str = Outcome.DONE
    note: str = ""
    measures: Sequence[Measured] = ()
    steps: Sequence[tuple[str, bool]] = ()  # words, and whether it was ticked


@dataclass(frozen=True)
class Take:
    """So much out of stock; a refusal is said at `field`."""

    supply: Supply
    amount: Decimal
    field: str = ""


@dataclass(frozen=True)
class Part:
    """A part that went in; `price` of one."""

    name: str
    number: str = ""
    quantity: Decimal = Decimal(1)
    price: Decimal | None = None


@transaction.atomic
def log_service(
    rig: Rig,
    *,
    by: Member,
    today: date,
    form_token: uuid.UUID,
    on: date,
    lines: Sequence[Line],
    until: date | None = None,
    values: Mapping[str, Decimal] | None = None,
    confirmed: bool = False,
    wheels: Wheels | None = None,
    supplies: Sequence[Take] = (),
    parts_used: Sequence[Part] = (),
    **fields,
) -> ServiceRecord:
    """Log work on a rig. The same `form_token` a second time gives the first record.

    Proof that was held under the token becomes the record's.
    `values` are the readings of the day by meter; `fields` are the plain columns of
    the record: place, done_by, doer, labor, parts, tax, total, warranty_…,
    signed_off_by, credential, notes. `supplies` are taken out of stock. The work sheets
    of the lines' items are cleared. A warranty goes on the plan, to remind of its end.
    """
    require(by, Role.CREW)
    known = ServiceRecord.objects.filter(form_token=form_token, rig=rig).first()
    if known is not None:
        return known
    wheels, values = wheels or Wheels(), dict(values or {})
    refuse_future(until or on, today, "until" if until else "on")
    check_work(rig, on, until, lines, wheels)
    check_warranty(rig, until or on, values, fields)
    record = ServiceRecord.objects.create(
        rig=rig,
        form_token=form_token,
        on=on,
        until=until,
        values={meter: str(value) for meter, value in values.items()},
        currency=rig.household.currency,
        entered_by=by,
        **fields,
    )
    if until is None:
        record.readings.add(*_store_readings(rig, by, on, values, confirmed))
    store_torque(record, wheels)
    _store_parts(record, parts_used)
    made = [_store_line(record, by, n, line, wheels) for n, line in enumerate(lines)]
    _take_out(record, supplies)
    _tell_expiries(lines, today)
    record.events.add(*_raise_events(record, by, made, wheels))
    held = Attachment.objects.filter(rig=rig, form_token=form_token, record=None)
    held.update(record=record)
    renew_warranty(record, today=today)
    note_activity(by, "logged work", f"{rig}: {', '.join(x.title for x in lines)}")
    _renew(rig, today)
    return record


def _renew(rig: Rig, today: date) -> None:
    inputs_changed.send(
        sender=ServiceRecord, household=rig.household, rig_ids=[rig.pk], as_of=today
    )


def check_work(
    rig: Rig,
    on: date,
    until: date | None,
    lines: Sequence[Line],
    wheels: Wheels,
) -> None:
    """Refused for work that cannot have been so; `log_history` holds to the same."""
    if until is not None and until < on:
        raise Refused(_("The last day lies before the first."), field="until")
    if not lines:
        raise Refused(_("Say what was done: at least one line."), field="lines")
    strange = [line.item for line in lines if line.item and line.item.rig_id != rig.pk]
    if strange:
        raise Refused(
            _("“%(item)s” is on the plan of another rig.") % {"item": strange[0]},
            field="lines",
        )
    check_torque(rig, wheels, held=_says_held(lines))
    says_moved = any(
        line.item and checks_wheels(line.item) and line.outcome == Outcome.MOVED
        for line in lines
    )
    if says_moved and wheels.checked and not wheels.moved:
        # Settled as held, a wheel whose nut had turned would not be checked again.
        raise Refused(_("A fastener had moved: tick at which wheel a nut moved."))


def _store_readings(
    rig: Rig, by: Member, on: date, values: Mapping[str, Decimal], confirmed: bool
) -> list[Reading]:
    meters = {meter.kind: meter for meter in rig.meters.all()}
    unknown = values.keys() - meters.keys()
    if unknown:
        raise Refused(
            _("%(rig)s has no such meter: %(meter)s.")
            % {"rig": rig, "meter": ", ".join(sorted(unknown))}
        )
    return [
        store_reading(meters[kind], by=by, on=on, value=value, confirmed=confirmed)
        for kind, value in values.items()
    ]


def _store_parts(record: ServiceRecord, parts: Sequence[Part]) -> None:
    PartUsed.objects.bulk_create(
        PartUsed(record=record, position=number, **asdict(part))
        for number, part in enumerate(parts)
    )


def _says_held(lines: Iterable[Line]) -> bool:
    """Whether a line claims of fasteners that they are as tight as they must be."""
    return any(
        line.outcome in {Outcome.HELD, Outcome.DONE, Outcome.SERVICEABLE}
        and line.item is not None
        and checks_wheels(line.item)
        for line in lines
    )


def _take_out(record: ServiceRecord, supplies: Sequence[Take]) -> None:
    for take in supplies:
        if take.supply.household_id != record.rig.household_id:
            raise Refused(_("This is not on your list."), field=take.field or None)
        take_out(take.supply, take.amount, field=take.field)
        SupplyUsed.objects.create(
            record=record,
            supply=take.supply,
            name=str(take.supply),
            amount=take.amount,
            unit=take.supply.unit,
        )


def _tell_expiries(lines: Sequence[Line], today: date) -> None:
    """A paper that was renewed is good until the date on the new one."""
    for line in lines:
        if line.item is None or line.outcome not in COMPLETING:
            continue
        for expires in _expiries(line.measures):
            tell_expiry(line.item, today=today, expires=expires)


def _expiries(measures: Iterable[Measured]) -> list[date]:
    return [
        one.value
        for one in measures
        if one.name == EXPIRES and isinstance(one.value, date)
    ]


def _store_line(
    record: ServiceRecord, by: Member, position: int, line: Line, wheels: Wheels
) -> RecordLine:
    outcome = _outcome(line, wheels)
    made = RecordLine.objects.create(
        record=record,
        position=position,
        item=line.item,
        title=line.title,
        outcome=outcome,
        note=line.note,
        measures=to_data(line.measures),
        steps=[list(step) for step in line.steps],
    )
    if line.item is not None:
        clear_sheet(line.item)
    if line.item is not None and outcome in COMPLETING:
        made.completions.add(*_complete(record, by, line.item, outcome, wheels))
    return made


def _outcome(line: Line, wheels: Wheels) -> str:
    """What the record says of a check of wheels is what its wheels say."""
    checks = line.item is not None and checks_wheels(line.item)
    if checks and wheels.moved and line.outcome in COMPLETING:
        return Outcome.MOVED
    return line.outcome


def _complete(
    record: ServiceRecord, by: Member, item: PlanItem, outcome: str, wheels: Wheels
) -> list[Completion]:
    """Complete the item and, at the same places, what it also renews.

    A check of wheels after they were off completes wheel by wheel: those where a nut
    had moved raise their own next check.
    """
    about: dict[str, Any] = {
        "by": by,
        "on": record.on,
        "until": record.until,
        "values": {m: Decimal(v) for m, v in record.values.items()},
    }
    if checks_wheels(item) and wheels.checked:
        held = wheels.checked - wheels.moved
        parts = [(Outcome.HELD, held), (Outcome.MOVED, wheels.moved)]
        done = [
            complete(item, outcome=result, places=places, **about)
            for result, places in parts
            if places
        ]
    else:
        done = [complete(item, outcome=outcome, **about)]
    return done + [
        complete(other, outcome=part.outcome, places=part.places, **about)
        for other in also_renewed(item)
        for part in done
        if part.outcome != Outcome.SERVICEABLE  # looking renews nothing but the look
    ]


def checks_wheels(item: PlanItem) -> bool:
    """True for the checks that a wheel having been off raises."""
    return any(
        trigger.get("after", {}).get("event") == WHEEL_OFF for trigger in item.triggers
    )


def also_renewed(item: PlanItem) -> Iterable[PlanItem]:
    """The items of the same rig that the item's procedure renews with it; work on one
    part renews nothing of another part."""
    procedure = procedure_of(item)
    keys = procedure.renews if procedure else ()
    rows = PlanItem.objects.active().filter(rig=item.rig, key__in=keys)
    return rows.filter(Q(component=None) | Q(component=item.component_id))


def _raise_events(
    record: ServiceRecord,
    by: Member,
    lines: Sequence[RecordLine],
    wheels: Wheels,
) -> list[Event]:
    """The events that the lines' procedures raise, and wheels that were off.

    Without wheels named, work that takes wheels off means all of them.
    """
    kinds = raised_kinds(lines, procedures_of(record.rig.household))
    if wheels.off:
        kinds.setdefault(WHEEL_OFF, lines[0].title)
    return [
        store_event(
            record.rig,
            by=by,
            kind=kind,
            on=record.on,
            values={m: Decimal(v) for m, v in record.values.items()},
            places=wheels.off or None,
            note=note,
        )
        for kind, note in kinds.items()
    ]


def raised_kinds(
    lines: Iterable[Line | RecordLine], known: Mapping[str, Procedure]
) -> dict[str, str]:
    """Kind of event -> title of the job that raises it; `known` are the procedures."""
    return {
        kind: line.title
        for line in lines
        if line.item and line.outcome in COMPLETING and line.item.key in known
        for kind in known[line.item.key].raises
    }


@transaction.atomic
def void_record(record: ServiceRecord, *, by: Member, today: date, why: str) -> None:
    """Void: it stays visible as void, what it gave and raised is withdrawn, and what it
    used is in stock again."""
    require(by, Role.CREW)
    if not why.strip():
        raise Refused(_("Say why this record is void."), field="why")
    if record.merged_into_id is not None or record.merged.exists():
        raise Refused(_("It is one with another record: take them apart first."))
    with changing(record, by=by, why=why, kind=LinkKind.VOIDED):
        _mark_void(record, by, why)
        take_back(record)
    record.refresh_from_db(fields=["voided_at"])
    renew_warranty(record, today=today)
    note_activity(by, "voided record", f"{record.rig}, {day_words(record.on)}")
    _renew(record.rig, today)


def _mark_void(record: ServiceRecord, by: Member, why: str) -> None:
    standing = ServiceRecord.objects.filter(pk=record.pk, voided_at__isnull=True)
    if not standing.update(
        voided_at=timezone.now(), voided_by=by, why_voided=why.strip()
    ):
        raise Refused(_("This record is void already."))


def take_back(record: ServiceRecord) -> None:
    """All that a record gave and raised, and into stock what it used. The caller holds
    the transaction and renews."""
    withdraw(readings=record.readings.all(), events=record.events.all())
    withdraw_completions(Completion.objects.filter(record_lines__record=record))
    _undo(record)


def _undo(record: ServiceRecord) -> None:
    """Back into stock what it used, and forgotten what date it told of a paper."""
    for used in record.supplies.select_related("supply"):
        if used.supply is not None:
            put_in(used.supply, used.amount)
    for line in record.lines.select_related("item"):
        for expires in _expiries(from_data(line.measures)):
            if line.item is not None:
                forget_expiry(line.item, expires=expires)
