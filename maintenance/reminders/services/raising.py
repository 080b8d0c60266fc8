"""Raising notices: rows that say once that there is a reason to write."""

import logging
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from maintenance.core import notices as core
from maintenance.core.facts import FactError
from maintenance.households.models import Household
from maintenance.households.queries import whose_day_has_come
from maintenance.plans.queries import household_is_stale
from maintenance.plans.standings import renew_household
from maintenance.service_records.warranty import drop_ended_warranties
from maintenance.vehicles.parked import asked_next, with_last_use

from .. import queries
from ..models import (
    FindingNotice,
    Notice,
    NoticeMark,
    Stage,
    SweepMark,
    TripNotice,
)
from ..stay_questions import raise_questions
from .ahead import take_back_ahead
from .digests import make_safety_mails
from .findings import raise_of_findings
from .trips import raise_of_trips
from .withdrawing import withdraw_of_events

log = logging.getLogger(__name__)

# Nobody looked for so long that all comes in one mail, safety as well.
SILENCE = timedelta(days=4)
# A change that was on its way into the database just then is looked at once more.
LOOK_BACK = timedelta(minutes=2)
ACTIVITY = "activity"  # the mark of up to when what members did was looked through


def raise_everywhere(now: datetime) -> int:
    """Raise notices wherever a day has come or something was done; says how many."""
    return raise_for(to_look_at(now), now)


@transaction.atomic
def to_look_at(now: datetime) -> list[int]:
    """Ids of households in which there may be something to tell.

    What members did is noted at their household, where it stays until somebody has
    looked: whoever is given these ids may die.
    """
    mark = SweepMark.objects.filter(name=ACTIVITY).first()
    since = mark.at if mark else datetime.min.replace(tzinfo=UTC)
    if since > now:  # the clock was ahead, and was set back
        since = now - timedelta(days=1)
    queries.active_since(since, now).update(next_notice_on=date.min)
    SweepMark.objects.update_or_create(name=ACTIVITY, defaults={"at": now - LOOK_BACK})
    return whose_day_has_come("next_notice_on", now)


def look_again(household: Household, *, on: date) -> None:
    """From that day on there may be something to tell though nothing happens."""
    rows = Household.objects.filter(pk=household.pk, next_notice_on__gt=on)
    rows.update(next_notice_on=on)


def raise_for(ids: Iterable[int], now: datetime) -> int:
    """Raise the notices of these households; says how many.

    A household that cannot be reckoned does not keep the others from their notices, nor
    its own people from what makes a rig unfit to travel.
    """
    raised = 0
    for pk in ids:
        household = Household.objects.filter(pk=pk).first()
        if household is None:
            continue
        try:
            raised += raise_notices(household, today=household.today(now), now=now)
        except FactError as error:
            log.error("household %s has wrong facts: %s", household.pk, error)
            raised += tell_of_findings(household, today=household.today(now))
    return raised


@transaction.atomic
def raise_notices(
    household: Household,
    *,
    today: date,
    now: datetime | None = None,
    at_once: bool = True,
) -> int:
    """Raise every notice of the day, once however often it is called; says how many.

    What safety asks for goes out by itself, the rest waits for the digest; without
    `at_once` all of it waits.
    """
    if household_is_stale(household, today):
        renew_household(household, as_of=today)
    drop_ended_warranties(household, today=today)
    mark = queries.last_mark(household)
    take_back_ahead(household, mark, today=today)
    items = queries.items_now(household, today=today)
    people = queries.people_of(household)
    new, next_on = _raise(household, items, people, today)
    rigs = with_last_use(household, today)
    raise_questions(household, people, rigs, today=today)
    found, told_again_on = raise_of_findings(household, today=today)
    trips, next_eve = raise_of_trips(household, today=today)
    if at_once:
        _mail_at_once(household, new, found, trips, today=today, mark=mark)
    seen_until = (now or timezone.now()) - LOOK_BACK
    NoticeMark.objects.update_or_create(
        household=household, defaults={"day": today, "seen_until": seen_until}
    )
    Household.objects.filter(pk=household.pk).update(
        next_notice_on=min(
            next_on,
            told_again_on,
            next_eve,
            household.next_change_on,
            asked_next(rigs, today),
        )
    )
    return len(new) + len(found) + len(trips)


def tell_now(household: Household, now: datetime) -> int:
    """What cannot wait, of a household that somebody just changed."""
    today = household.today(now)
    try:
        if household_is_stale(household, today):
            return raise_notices(household, today=today, now=now)
        return tell_at_once(household, today=today)
    except FactError as error:
        log.error("household %s has wrong facts: %s", household.pk, error)
        return tell_of_findings(household, today=today)


@transaction.atomic
def tell_at_once(household: Household, *, today: date) -> int:
    """Raise what safety asks for just now and what makes a rig unfit to travel, and
    mail it; says how many notices."""
    warns = Q(item__safety=True) | Q(unfit=True)
    items = queries.items_now(household, warns, today=today)
    new, _next_on = _raise(household, items, queries.people_of(household), today)
    found, told_again_on = raise_of_findings(household, today=today)
    trips, next_eve = raise_of_trips(household, today=today)
    mark = queries.last_mark(household)
    _mail_at_once(household, new, found, trips, today=today, mark=mark)
    look_again(household, on=min(told_again_on, next_eve))
    return sum(notice.at_once for notice in new) + len(found) + len(trips)


@transaction.atomic
def tell_of_findings(household: Household, *, today: date) -> int:
    """Mail what was found and makes a rig unfit to travel, whether or not the household
    can be reckoned; says how many notices."""
    found, told_again_on = raise_of_findings(household, today=today)
    make_safety_mails([], found, today=today)
    look_again(household, on=told_again_on)
    return len(found)


def _raise(
    household: Household,
    items: Sequence[core.ItemNow],
    people: Sequence[core.Person],
    today: date,
) -> tuple[tuple[core.Notice, ...], date]:
    """What is new, and the next day on which there may be more by itself."""
    told = queries.told_of(items)
    withdraw_of_events(items, told)
    wait = household.shop_wait_days
    new = core.notices_now(items, people, told, as_of=today, shop_wait_days=wait)
    rows = [
        Notice(
            item_id=notice.key.item,
            member_id=notice.key.person,
            stage=notice.key.stage,
            cycle=notice.key.cycle,
            raised_on=today,
        )
        for notice in new
    ]
    # Raised by two at once, a notice is one row all the same.
    Notice.objects.bulk_create(rows, ignore_conflicts=True)
    told += [core.Told(notice.key, today) for notice in new]
    return new, core.next_day(items, people, told, as_of=today, shop_wait_days=wait)


def _mail_at_once(
    household: Household,
    new: Sequence[core.Notice],
    found: Sequence[FindingNotice],
    trips: Sequence[TripNotice],
    *,
    today: date,
    mark: NoticeMark | None,
) -> None:
    """Mail what cannot wait, findings and trips among it, and with it all else that
    waits about the same item.

    After a long silence only what just happened goes out by itself; all that has come
    due in the meantime is told in one mail, the next digest.
    """
    silent = mark is None or today - mark.day > SILENCE
    at_once = {
        (notice.key.person, notice.key.item)
        for notice in new
        if notice.key.stage == "safety" or (notice.at_once and not silent)
    }
    waiting = (
        queries.waiting_of(household).exclude(stage=Stage.WITHDRAWN) if at_once else ()
    )
    rows = [row for row in waiting if (row.member_id, row.item_id) in at_once]
    make_safety_mails(rows, found, trips, today=today)
