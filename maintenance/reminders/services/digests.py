"""Making mail of notices: one digest per person and local day, and safety mail."""

import logging
from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from maintenance.core import notices as core
from maintenance.core.facts import FactError
from maintenance.households.models import Member
from maintenance.plans.queries import household_is_stale
from maintenance.plans.standings import renew_household

from .. import queries
from ..mail import sender_domain
from ..models import (
    Digest,
    DigestState,
    FindingNotice,
    Notice,
    StayQuestion,
    TripNotice,
)
from ..queue import enqueue_on_commit
from ..stay_questions import still_asked, waiting_for
from .clock import clock_in_doubt
from .findings import drop_put_right
from .trips import drop_fit

log = logging.getLogger(__name__)

ON_THE_WAY = (DigestState.QUEUED, DigestState.SENDING, DigestState.UNKNOWN)


def make_digests(now: datetime) -> list[Digest]:
    """The digests of everybody whose hour has come and who had none of that day."""
    made = []
    for member, day in queries.members_to_tell(now):
        try:
            digest = make_digest(member, day=day, now=now)
        except FactError as error:
            log.error("household %s has wrong facts: %s", member.household_id, error)
            continue
        if digest is not None:
            made.append(digest)
    return made


def make_urgent_mails(now: datetime) -> list[Digest]:
    """While daily mail waits for the date to be confirmed: the founder is asked to, and
    what safety asks for and no mail carries goes to each person once a day."""
    made = [_make_urgent(member, now) for member in queries.reachable_and_waited_for()]
    made.append(_make_clock_mail(now))
    return [digest for digest in made if digest is not None]


@transaction.atomic
def _make_urgent(member: Member, now: datetime) -> Digest | None:
    today = member.household.today(now)
    key = core.urgent_key(member.pk, today)
    if Digest.objects.filter(key=key).exists():
        return None
    _fold_unsent(member, today)
    waiting = queries.waiting_of(member.household).filter(member=member)
    try:
        notices = drop_untrue(waiting.filter(queries.URGENT), member, today=today)
    except FactError as error:
        log.error("household %s has wrong facts: %s", member.household_id, error)
        notices = []
    rows = FindingNotice.objects.filter(
        member=member, digest__isnull=True, withdrawn=False
    )
    found = drop_put_right(rows, member.household)
    ahead = TripNotice.objects.filter(member=member, digest__isnull=True)
    trips = drop_fit(ahead, member.household, today=today)
    if not (notices or found or trips):
        return None
    return _make(member, key, today, now, notices=notices, found=found, trips=trips)


@transaction.atomic
def _make_clock_mail(now: datetime) -> Digest | None:
    """Once for each jump."""
    doubted = clock_in_doubt()
    founder = queries.reachable().filter(founder=True).first()
    if doubted is None or founder is None:
        return None
    key = core.clock_key(founder.pk, doubted.at)
    day = founder.household.today(now)
    return _make(founder, key, day, now, notices=(), found=(), trips=())


@transaction.atomic
def make_digest(
    member: Member, *, day: date, now: datetime | None = None
) -> Digest | None:
    """The one mail of a person's day, or none when there is nothing to say.

    What an earlier digest could not bring to the server is taken into this one.
    """
    key = core.digest_key(member.pk, day)
    if Digest.objects.filter(key=key).exists() or not queries.is_reachable(member):
        return None
    _fold_unsent(member, day)
    notices = drop_untrue(
        queries.waiting_of(member.household).filter(member=member),
        member,
        today=day,
    )
    questions = still_asked(waiting_for(member), today=day)
    waiting = FindingNotice.objects.filter(member=member, digest__isnull=True)
    found = drop_put_right(waiting, member.household)
    ahead = TripNotice.objects.filter(member=member, digest__isnull=True)
    trips = drop_fit(ahead, member.household, today=day)
    if not (notices or questions or found or trips):
        return None
    digest = _make(member, key, day, now, notices=notices, found=found, trips=trips)
    if digest is not None:
        asked = [question.pk for question in questions]
        StayQuestion.objects.filter(pk__in=asked).update(digest=digest)
    return digest


def make_safety_mails(
    notices: Iterable[Notice],
    found: Iterable[FindingNotice] = (),
    trips: Iterable[TripNotice] = (),
    *,
    today: date,
    now: datetime | None = None,
) -> list[Digest]:
    """A mail to each person with the notices that cannot wait for the digest."""
    groups, of_findings, of_trips = (
        _by_member(rows) for rows in (notices, found, trips)
    )
    people = Member.objects.filter(pk__in={*groups, *of_findings, *of_trips})
    made = []
    for member in people.select_related("user").order_by("pk"):
        rows, about = groups[member.pk], of_findings[member.pk]
        ahead = of_trips[member.pk]
        # The newest: the others may have had a mail before, and wait again.
        key = (
            f"safety:{rows[-1].pk}"
            if rows
            else f"unfit:{about[0].pk}"
            if about
            else f"eve:{ahead[0].pk}"
        )
        made.append(
            _make(member, key, today, now, notices=rows, found=about, trips=ahead)
        )
    return [digest for digest in made if digest is not None]


def _by_member(rows: Iterable[Any]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.member_id].append(row)
    return found


def _make(
    member: Member,
    key: str,
    day: date,
    now: datetime | None,
    *,
    notices: Collection[Notice],
    found: Collection[FindingNotice],
    trips: Collection[TripNotice],
) -> Digest | None:
    """The row that carries these notices; None when another process just made it."""
    made_at = now or timezone.now()
    digest, new = Digest.objects.get_or_create(
        key=key,
        defaults={
            "member": member,
            "day": day,
            "to": member.user.email,
            "message_id": core.message_id(key, made_at, sender_domain()),
            "made_at": made_at,
        },
    )
    if not new:
        return None
    ids = [notice.pk for notice in notices]
    Notice.objects.filter(pk__in=ids, digest__isnull=True).update(digest=digest)
    about = [row.pk for row in found]
    of_findings = FindingNotice.objects.filter(pk__in=about, digest__isnull=True)
    of_findings.update(digest=digest)
    ahead = [row.pk for row in trips]
    TripNotice.objects.filter(pk__in=ahead, digest__isnull=True).update(digest=digest)
    enqueue_on_commit(digest)
    return digest


def _fold_unsent(member: Member, day: date) -> None:
    """Take back what earlier mail carries that no server has accepted: after days
    without one, a single mail says all."""
    unsent = Digest.objects.filter(member=member, day__lt=day, state=DigestState.QUEUED)
    unsent = unsent.exclude(key__startswith="clock:")  # which no other mail says
    # One that is claimed just now goes out by itself.
    take_back(list(unsent.values_list("pk", flat=True)), states=[DigestState.QUEUED])


def take_back(
    ids: Collection[int],
    *,
    states: Collection[str] = ON_THE_WAY,
    problem: str = "",
) -> None:
    """These mails go out no more, where they still are in such a state; what they carry
    waits for the next one."""
    Digest.objects.filter(pk__in=ids, state__in=states).update(
        state=DigestState.FOLDED,
        next_attempt_at=None,
        claimed_until=None,
        problem=problem,
    )
    give_back(Digest.objects.filter(pk__in=ids, state=DigestState.FOLDED))


def give_back(digests: QuerySet[Digest]) -> None:
    """What these mails carried, and told nobody, waits for the next one."""
    for carried in (
        Notice.objects,
        FindingNotice.objects,
        TripNotice.objects,
        StayQuestion.objects,
    ):
        carried.filter(digest__in=digests).update(digest=None)


def drop_untrue(
    notices: Iterable[Notice], member: Member, *, today: date
) -> list[Notice]:
    """The notices that still hold. The others go: should their reason come back, they
    are raised as new."""
    rows = list(notices)
    if not rows:
        return rows
    household = member.household
    if household_is_stale(household, today):
        renew_household(household, as_of=today)
    ids = {row.item_id for row in rows}
    found = queries.items_now(household, today=today, item__in=ids)
    items = {item.item: item for item in found}
    person = queries.person_of(member)
    holds = [
        row
        for row in rows
        if row.item_id in items
        and core.still_true(
            queries.key_of(row),
            items[row.item_id],
            person,
            as_of=today,
            shop_wait_days=household.shop_wait_days,
        )
    ]
    gone = {row.pk for row in rows} - {row.pk for row in holds}
    if gone:
        Notice.objects.filter(pk__in=gone).delete()
    return holds
