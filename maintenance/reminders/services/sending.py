"""Sending mail: claim, send, mark. A mail whose outcome is unknown is repeated, the
same words under the same Message-ID; nothing else is ever sent twice."""

import logging
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from maintenance.core.facts import FactError
from maintenance.households.models import Member

from .. import content, mail, queries, smtp
from ..mail_server import SetUpBroken, mail_server
from ..models import TOLD_NOBODY, Digest, DigestState, Notice, SweepMark
from ..queue import enqueue
from ..stay_questions import still_asked
from .addresses import stop_address
from .clock import clock_in_doubt
from .digests import drop_untrue, give_back
from .findings import drop_put_right
from .trips import drop_fit

log = logging.getLogger(__name__)

# Longer than any conversation with a server can take.
CLAIM = timedelta(minutes=15)
# Until the next attempt, by how many there were; the last one holds on.
PAUSES = tuple(timedelta(minutes=m) for m in (5, 15, 30, 60, 180, 360))
# RFC 5321, 4.5.4.1: the give-up time generally needs to be at least 4 to 5 days.
GIVE_UP = timedelta(days=5)


def sweep(now: datetime) -> int:
    """Hand all mail that is due, or that a crash left, to the workers: how many."""
    ids = list(queries.digests_to_send(now).values_list("pk", flat=True))
    for pk in ids:
        enqueue(pk)
    SweepMark.objects.update_or_create(name="sweep", defaults={"at": now})
    return len(ids)


def send_waiting(now: datetime) -> list[Digest]:
    """Send all that is due right here, without workers."""
    digests = list(queries.digests_to_send(now))
    for digest in digests:
        send_digest(digest, now=now)
    return digests


def send_digest(digest: Digest, *, now: datetime | None = None) -> None:
    """Send one mail, unless it is not due or somebody else is at it. The row says what
    came of it."""
    now = now or timezone.now()
    before = _claim(digest, now)
    if before is None:
        return
    new = before == DigestState.QUEUED or not digest.written_at
    if new:
        try:
            wrote = _write(digest, now)
        except FactError as error:
            log.error("mail %s cannot be written: %s", digest.pk, error)
            _finish_later(digest, DigestState.QUEUED, str(error), now)
            return
        if not wrote:
            return
    elif not queries.is_reachable(digest.member):
        _finish(digest, DigestState.GIVEN_UP)
        return
    # Once it may have arrived it stays so, whatever a later attempt meets with: it is
    # neither put into other words nor taken into a later mail.
    _hand_over(digest, now, DigestState.QUEUED if new else DigestState.UNKNOWN)


def _hand_over(digest: Digest, now: datetime, undelivered: DigestState) -> None:
    """`undelivered`: the state when this attempt surely brought it to nobody."""
    try:
        server = mail_server()
    except SetUpBroken as broken:
        _finish_later(digest, undelivered, str(broken), now)
        return
    # The people of the demo are invented: nothing is sent to their addresses.
    if server is None or digest.member.household.is_demo:
        _finish(digest, DigestState.IN_TRAY)
        return
    outcome = smtp.deliver(mail.of_digest(digest), to=digest.to, server=server)
    if outcome.kind == "later":
        _finish_later(digest, undelivered, outcome.words, now)
    else:
        _mark(digest, outcome, now)


def _claim(digest: Digest, now: datetime) -> str | None:
    """Take the mail for this process; the state before, or None if it is not ours.

    The update names the old values, so that of several only one finds its row.
    """
    row = queries.digests_to_send(now).filter(pk=digest.pk).first()
    if row is None:
        return None
    taken = Digest.objects.filter(
        pk=row.pk, state=row.state, attempts=row.attempts
    ).update(
        state=DigestState.SENDING,
        attempts=F("attempts") + 1,
        claimed_until=now + CLAIM,
    )
    if not taken:
        return None
    digest.refresh_from_db()
    return row.state


@transaction.atomic
def _write(digest: Digest, now: datetime) -> bool:
    """Put the mail into words as things are now; False when nothing is left to say."""
    member = Member.objects.select_related("household", "user").get(pk=digest.member_id)
    today = member.household.today(now)
    reachable = queries.is_reachable(member)
    with member.household.at_home():
        written = _in_words(digest, member, today) if reachable else None
    if written is None:
        _finish(digest, DigestState.EMPTY)
        return False
    digest.to, digest.written_at = member.user.email, now
    digest.subject, digest.text, digest.html = (
        written.subject,
        written.text,
        written.html,
    )
    digest.save(update_fields=["to", "written_at", "subject", "text", "html"])
    return True


def _in_words(digest: Digest, member: Member, today: date) -> content.Written | None:
    if digest.is_about_clock:
        doubted = clock_in_doubt()
        return content.write_of_clock(member, doubted, today=today) if doubted else None
    notices = Notice.objects.filter(digest=digest).order_by("pk")
    holds = drop_untrue(notices, member, today=today)
    asked = still_asked(digest.questions.all(), today=today)
    carried = digest.finding_notices.select_related(
        "rig", "finding__rig", "finding__item"
    )
    told = drop_put_right(carried, member.household)
    trips = digest.trip_notices.select_related("trip__rig")
    ahead = drop_fit(trips, member.household, today=today)
    if not (holds or asked or told or ahead):
        return None
    return content.write(
        member,
        holds,
        today=today,
        asked=asked,
        findings=[row.finding for row in told if row.finding is not None],
        withdrawn=[row for row in told if row.withdrawn],
        trips=[row.trip for row in ahead],
        daily=digest.is_daily,
    )


def _mark(digest: Digest, outcome: smtp.Outcome, now: datetime) -> None:
    if outcome.kind == "sent":
        _finish(digest, DigestState.SENT, sent_at=timezone.now())
    elif outcome.kind == "refused":
        if outcome.at == "recipient":
            stop_address(digest, outcome.words, now=now)
        _finish(digest, DigestState.REFUSED, problem=outcome.words)
    else:
        _finish_later(digest, DigestState.UNKNOWN, outcome.words, now)


def _finish_later(digest: Digest, state: str, problem: str, now: datetime) -> None:
    """To be tried again after a pause that grows, for some days."""
    if now - digest.made_at > GIVE_UP:
        _finish(digest, DigestState.GIVEN_UP, problem=problem)
        return
    pause = PAUSES[min(digest.attempts, len(PAUSES)) - 1]
    _finish(digest, state, problem=problem, next_attempt_at=now + pause)


@transaction.atomic
def _finish(digest: Digest, state: str, **fields: object) -> None:
    """Mark what came of it, unless the claim ran out and another process has it. What
    a mail carried that told nobody comes with the next one."""
    fields = {"problem": "", "next_attempt_at": None} | fields
    ours = Digest.objects.filter(
        pk=digest.pk, state=DigestState.SENDING, attempts=digest.attempts
    )
    if not ours.update(state=state, claimed_until=None, **fields):
        log.warning("mail %s: another process has taken it over", digest.pk)
    elif state in TOLD_NOBODY:
        give_back(Digest.objects.filter(pk=digest.pk))
    digest.refresh_from_db()
