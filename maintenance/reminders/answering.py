"""What the links of a mail do once confirmed: each is one transaction that uses the
link up, through the same services as the pages."""

import uuid
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from maintenance.core.notices import longest_hold
from maintenance.core.units import show
from maintenance.core.words import counted
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome, PlanItem
from maintenance.service_records.follow_words import words_of
from maintenance.service_records.models import DoneBy, ServiceRecord
from maintenance.service_records.services import record_work
from maintenance.service_records.wheels_told import wheel_work_in
from maintenance.service_records.work import Line, WorkDone
from maintenance.ui.words import day_words
from maintenance.vehicles.forms import ReadingForm
from maintenance.vehicles.models import Meter, Trip
from maintenance.vehicles.readings import KEEP, RIGHT, doubt_about, give

from .answer_links import AnswerRequest, refuse_used
from .forms import DoneForm
from .models import AnsweredLink, HeldReminder
from .queries import items_now
from .services import look_again


@dataclass(frozen=True, slots=True)
class Moment:
    """When a link is confirmed, and the household's day then."""

    now: datetime
    today: date


@transaction.atomic
def _once(asked: AnswerRequest, moment: Moment, act: Callable[[], str]) -> str:
    """Use the link up and act, or neither. Of two at once, one finds the row there."""
    AnsweredLink.objects.filter(
        expires_on__lt=moment.today - timedelta(days=1)
    ).delete()
    used, new = AnsweredLink.objects.get_or_create(
        key=asked.link.key,
        defaults={
            "member": asked.member,
            "at": moment.now,
            "expires_on": asked.link.until,
        },
    )
    if not new:
        refuse_used(asked.link)
    used.what = act()[:300]
    used.save(update_fields=["what"])
    return used.what


def give_reading(
    asked: AnswerRequest, form: ReadingForm, moment: Moment, **given: Any
) -> str:
    def act() -> str:
        reading = give(form, by=asked.member, today=moment.today, **given)
        if isinstance(reading, Trip):
            towed = show(reading.distance or Decimal(0), reading.unit)
            return f"Distance towed of {reading.rig} kept: {towed}."
        return (
            f"Reading of {reading.meter.rig} kept: "
            f"{show(reading.value, reading.meter.unit)} on {day_words(reading.on)}."
        )

    return _once(asked, moment, act)


def record_done(
    asked: AnswerRequest,
    form: DoneForm,
    moment: Moment,
    *,
    on: date,
    outcome: str,
    note: str = "",
    value: Decimal | None = None,
    doubt: str = "",
    shop: str = "",
    **_wheels: Any,
) -> str:
    """Record the item's work, or ask back in the form about a reading that does not
    fit, or which wheels were off."""
    if form.meter is not None and value is not None and on <= moment.today:
        _ask_if_doubtful(form, form.meter, on, value, doubt)
    lines = [Line(asked.item.title, asked.item, outcome, note[:300])]
    wheels = form.wheels_for(wheel_work_in(asked.item.rig, lines))

    def act() -> str:
        work = WorkDone(
            rig=asked.item.rig,
            on=on,
            lines=lines,
            wheels=wheels,
            doer=shop or asked.member.name,
            done_by=DoneBy.SHOP if shop else DoneBy.MEMBER,
            values=_values(form.meter, value),
            values_confirmed=doubt == RIGHT,
            # The same link, the same record.
            form_token=uuid.uuid5(uuid.NAMESPACE_OID, asked.link.key),
        )
        recorded = record_work(work, by=asked.member, today=moment.today)
        said = _recorded(recorded.record, asked.item, outcome, form.meter, value)
        warnings, rest = words_of(asked.item.rig, recorded.follows)
        return " ".join([said, *warnings, *rest])

    return _once(asked, moment, act)


def _values(meter: Meter | None, value: Decimal | None) -> dict[str, Decimal]:
    return {} if meter is None or value is None else {meter.kind: value}


def _ask_if_doubtful(
    form: DoneForm, meter: Meter, on: date, value: Decimal, doubt: str
) -> None:
    found = doubt_about(meter, on=on, value=value)
    if found is not None and doubt not in {RIGHT, KEEP}:
        form.ask([pair for pair in found.choices if pair[0] in {RIGHT, KEEP}])
        raise Refused(found.text, field="value")


def _recorded(
    record: ServiceRecord,
    item: PlanItem,
    outcome: str,
    meter: Meter | None,
    value: Decimal | None,
) -> str:
    at = "" if meter is None or value is None else f", {show(value, meter.unit)}"
    return (
        f"Recorded on {record.rig}: {item}, {Outcome(outcome).label.lower()}, on "
        f"{day_words(record.on)}{at}."
    )


def days_to_move(item: PlanItem, today: date) -> int:
    """The most days by which a reminder of the item may be moved. What makes the rig
    unfit to travel waits no longer than what touches safety."""
    rows = items_now(item.rig.household, today=today, item=item)
    if not rows:
        return 1
    found = replace(rows[0], safety=item.safety or item.unfit)
    return longest_hold(found, as_of=today)


def move_reminder(asked: AnswerRequest, moment: Moment, *, days: int) -> str:
    """No reminder of the item to this person for some days. The work stays due, the
    other members are told as before, and what newly happens is told at once."""
    most = days_to_move(asked.item, moment.today)
    if not 1 <= days <= most:
        raise Refused(
            f"This may wait {counted(most, 'day')} at most.",
            field="days",
        )

    def act() -> str:
        until = moment.today + timedelta(days=days)
        HeldReminder.objects.update_or_create(
            item=asked.item, member=asked.member, defaults={"until": until}
        )
        look_again(asked.member.household, on=until)
        return (
            f"You are reminded of “{asked.item}” on {asked.item.rig} again on "
            f"{day_words(until)}."
        )

    return _once(asked, moment, act)
