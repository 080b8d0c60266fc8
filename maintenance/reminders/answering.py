"""What the links of a mail do once confirmed: each is one transaction that uses the
link up, through the same services as the pages."""

import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction

from maintenance.core.notices import longest_hold
from maintenance.core.units import show
from maintenance.core.words import counted
from maintenance.households.models import Member
from maintenance.households.refusals import Refused
from maintenance.plans.models import Outcome, PlanItem
from maintenance.service_records.follow_words import words_of
from maintenance.service_records.models import DoneBy, ServiceRecord
from maintenance.service_records.services import record_work
from maintenance.service_records.wheels_told import wheel_work_in
from maintenance.service_records.work import Line, WorkDone
from maintenance.ui.words import day_words
from maintenance.vehicles.forms import ReadingForm
from maintenance.vehicles.gate import Figure
from maintenance.vehicles.gate_forms import confirmed_in, questionable_in, values_of
from maintenance.vehicles.not_towed import not_towed_words, say_not_towed
from maintenance.vehicles.parked import park, say_in_use
from maintenance.vehicles.readings import record_reading_from_form

from .answer_links import AnswerLink, AnswerRequest, ParkedRequest, refuse_used
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
def _once(
    asked: AnswerRequest | ParkedRequest, moment: Moment, act: Callable[[], str]
) -> str:
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
        kept = record_reading_from_form(
            form, by=asked.member, today=moment.today, **given
        )
        return f"Reading saved: {kept.words}"

    return _once(asked, moment, act)


def record_done(
    asked: AnswerRequest,
    form: DoneForm,
    moment: Moment,
    *,
    on: date,
    outcome: str,
    note: str = "",
    shop: str = "",
    **_typed: Any,
) -> str:
    """Record the item's work, or ask back in the form about a reading that does not
    fit, or which wheels were off."""
    figures = form.at(on, moment.today)
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
            values=values_of(figures),
            values_confirmed=bool(confirmed_in(figures)),
            values_questionable=questionable_in(figures),
            form_token=_form_token(asked.link),
        )
        recorded = record_work(work, by=asked.member, today=moment.today)
        said = _recorded(recorded.record, asked.item, outcome, figures.values())
        warnings, rest = words_of(asked.item.rig, recorded.follows)
        return " ".join([said, *warnings, *rest])

    return _once(asked, moment, act)


def _form_token(link: AnswerLink) -> uuid.UUID:
    """The same link, the same record."""
    return uuid.uuid5(uuid.NAMESPACE_OID, link.key)


def recorded_by(link: AnswerLink) -> tuple[AnsweredLink, ServiceRecord] | None:
    """The link as it was used, and the record that it made; None where it has expired,
    the record was undone or the person has left."""
    members = Member.objects.present()
    used = AnsweredLink.objects.filter(key=link.key, member__in=members).first()
    if used is None or used.member.household.today() > link.until:
        return None
    records = ServiceRecord.objects.for_household(used.member.household)
    record = records.filter(form_token=_form_token(link)).first()
    return None if record is None else (used, record)


def _recorded(
    record: ServiceRecord, item: PlanItem, outcome: str, figures: Iterable[Figure]
) -> str:
    words = (
        f"Recorded on {record.rig}: {item}, {Outcome(outcome).label.lower()}, on "
        f"{day_words(record.on)}"
    )
    for one in figures:
        words += f", {show(one.value, one.meter.unit)}"
        if one.questionable:
            words += " (questionable, so it doesn't count)"
        elif one.echo:
            words += f" ({one.echo})"
    return f"{words}."


def say_parked(asked: ParkedRequest, moment: Moment, *, parked: str) -> str:
    """It stands since it was last used, or it is in use though nobody enters it."""

    def act() -> str:
        by, today = asked.member, moment.today
        if parked == "no":
            say_in_use(asked.rig, by=by, today=today)
            return f"{asked.rig} is in use. You won't be asked for a month."
        stay = park(asked.rig, by=by, today=today)
        return f"{asked.rig} has been in storage since {day_words(stay.start)}."

    return _once(asked, moment, act)


def not_towed(asked: AnswerRequest, moment: Moment, *, since: date) -> str:
    """What is due stays due; no reminder of it for 14 days, unless it is towed."""

    def act() -> str:
        said = say_not_towed(
            asked.item.rig, by=asked.member, today=moment.today, since=since
        )
        return f"{asked.item.rig}: {not_towed_words(said)}."

    return _once(asked, moment, act)


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
            f"This can wait {counted(most, 'day')} at most.",
            field="days",
        )

    def act() -> str:
        until = moment.today + timedelta(days=days)
        HeldReminder.objects.update_or_create(
            item=asked.item, member=asked.member, defaults={"until": until}
        )
        look_again(asked.member.household, on=until)
        return (
            f"We'll remind you of “{asked.item}” on {asked.item.rig} again on "
            f"{day_words(until)}."
        )

    return _once(asked, moment, act)
