"""Making mail of notices: one digest per person and local day, and safety mail."""

import logging
from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date, datetime

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
from ..models import Digest, DigestState, FindingNotice, Notice, StayQuestion
from ..queue import enqueue_on_commit
from ..stay_questions import still_asked, waiting_for
from .findings import drop_put_right

log = logging.getLogger(__name__)


def make_digests(now: datetime) -> list[Digest]:
    """The digests of everybody whose hour has come and who had none of that day."""
    made = []
    for member, day in queries.members_to_tell(now):
        try:
            digest = make_digest(member, day=day, now=now)
        except FactError as error:
            log.error("household %s cannot be reckoned: %s", member.household_id, error)
            continue
        if digest is not None:
            made.append(digest)
    return made


def make_urgent_mails(now: datetime) -> list[Digest]:
    """While daily mail waits for the date to be confirmed: what safety asks for and no
    mail carries, to each person once a day."""
    made = [_make_urgent(member, now) for member in queries.reachable_and_waited_for()]
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
        log.error("household %s cannot be reckoned: %s", member.household_id, error)
        notices = []
    rows = FindingNotice.objects.filter(
        member=member, digest__isnull=True, withdrawn=False
    )
    found = drop_put_right(rows, member.household)
    if not (notices or found):
        return None
    return _make(member, key, today, now, notices=notices, found=found)


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
    if not (notices or questions or found):
        return None
    digest = _make(member, key, day, now, notices=notices, found=found)
    if digest is not None:
        asked = [question.pk for question in questions]
        StayQuestion.objects.filter(pk__in=asked).update(digest=digest)
    return digest


def make_safety_mails(
    notices: Iterable[Notice],
    found: Iterable[FindingNotice] = (),
    *,
    today: date,
    now: datetime | None = None,
) -> list[Digest]:
    """A mail to each person with the notices that cannot wait for the digest."""
    groups: dict[int, list[Notice]] = defaultdict(list)
    for notice in notices:
        groups[notice.member_id].append(notice)
    of_findings: dict[int, list[FindingNotice]] = defaultdict(list)
    for row in found:
        of_findings[row.member_id].append(row)
    people = Member.objects.filter(pk__in={*groups, *of_findings})
    made = []
    for member in people.select_related("user").order_by("pk"):
        rows, about = groups[member.pk], of_findings[member.pk]
        # The newest: the others may have had a mail before, and wait again.
        key = f"safety:{rows[-1].pk}" if rows else f"unfit:{about[0].pk}"
        made.append(_make(member, key, today, now, notices=rows, found=about))
    return [digest for digest in made if digest is not None]


def _make(
    member: Member,
    key: str,
    day: date,
    now: datetime | None,
    *,
    notices: Collection[Notice],
    found: Collection[FindingNotice],
) -> Digest | None:
    """The row that carries these notices; None when another process just made it."""
    digest, new = Digest.objects.get_or_create(
        key=key,
        defaults={
            "member": member,
            "day": day,
            "to": member.user.email,
            "message_id": core.message_id(key, sender_domain()),
            "made_at": now or timezone.now(),
        },
    )
    if not new:
        return None
    ids = [notice.pk for notice in notices]
    Notice.objects.filter(pk__in=ids, digest__isnull=True).update(digest=digest)
    about = [row.pk for row in found]
    of_findings = FindingNotice.objects.filter(pk__in=about, digest__isnull=True)
    of_findings.update(digest=digest)
    enqueue_on_commit(digest)
    return digest


def _fold_unsent(member: Member, day: date) -> None:
    """Take back what earlier mail carries that no server has accepted: after days
    without one, a single mail says all."""
    unsent = Digest.objects.filter(member=member, day__lt=day, state=DigestState.QUEUED)
    ids = list(unsent.values_list("pk", flat=True))
    # One that is claimed just now goes out by itself.
    Digest.objects.filter(pk__in=ids, state=DigestState.QUEUED).update(
        state=DigestState.FOLDED, next_attempt_at=None
    )
    give_back(Digest.objects.filter(pk__in=ids, state=DigestState.FOLDED))


def give_back(digests: QuerySet[Digest]) -> None:
    """What these mails carried, and told nobody, waits for the next one."""
    for carried in (Notice.objects, FindingNotice.objects, StayQuestion.objects):
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
