"""Letting go of what is of no use any more: old mail, notices of work long done, ticks
of sheets that nobody finished, files of forms never sent, tokens of those that were."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from maintenance.households.login_sessions import forget_ended
from maintenance.households.one_time_links import forget_expired
from maintenance.households.sent_forms import forget_sent
from maintenance.plans.models import Completion
from maintenance.service_records.proof import forget_abandoned
from maintenance.work_sheets.kept import forget_old_sheets

from ..models import (
    AnsweredLink,
    Digest,
    FindingNotice,
    HeldReminder,
    Notice,
    Stage,
    SweepMark,
)
from .digests import ON_THE_WAY

KEPT = timedelta(days=400)  # so that last year's mail can be looked up
# What was held back comes back once; until then its row is needed.
HELD_KEPT = timedelta(days=60)
EVERY = timedelta(hours=20)


@dataclass(frozen=True, slots=True)
class Tidied:
    """How many of each were let go."""

    notices: int
    mails: int
    rest: int


def tidy_once_a_day(now: datetime) -> None:
    """For the schedule, which knows minutes only."""
    mark, new = SweepMark.objects.get_or_create(name="tidy", defaults={"at": now})
    # A mark ahead is of a clock that was.
    late = SweepMark.objects.filter(Q(at__lte=now - EVERY) | Q(at__gt=now), pk=mark.pk)
    if new or late.update(at=now):
        tidy(now)


def tidy(now: datetime) -> Tidied:
    """Safe at any time, and as often as you like."""
    notices, mails = _notices(now), _mails(now)
    held = HeldReminder.objects.filter(until__lt=(now - HELD_KEPT).date()).delete()
    links = AnsweredLink.objects.filter(expires_on__lt=now.date()).delete()
    rest = held[0] + links[0] + forget_old_sheets(now) + forget_abandoned(now)
    rest += forget_sent(now) + forget_ended(now) + forget_expired(now)
    return Tidied(notices, mails, rest)


def _notices(now: datetime) -> int:
    """Those whose work was done since, or whose item or rig is gone, and those that
    said what was withdrawn. What still stands open keeps all of its own: they say what
    was told."""
    done = Completion.objects.filter(
        item=OuterRef("item"), withdrawn=False, on__gte=OuterRef("raised_on")
    )
    gone = Q(item__dropped_on__isnull=False) | Q(item__rig__sold_on__isnull=False)
    day = (now - KEPT).date()
    said = Q(stage=Stage.WITHDRAWN, digest__day__lt=day)
    old = Notice.objects.filter(raised_on__lt=day)
    found = FindingNotice.objects.filter(withdrawn=True, digest__day__lt=day)
    return old.filter(said | gone | Exists(done)).delete()[0] + found.delete()[0]


@transaction.atomic
def _mails(now: datetime) -> int:
    """Mail that went its way and that no notice hangs on: without its mail, a notice
    would wait for the next one and be told again."""
    told = Notice.objects.filter(digest=OuterRef("pk"))
    old = Digest.objects.filter(day__lt=(now - KEPT).date())
    found = FindingNotice.objects.filter(digest=OuterRef("pk"))
    old = old.exclude(state__in=ON_THE_WAY)
    return old.exclude(Exists(told)).exclude(Exists(found)).delete()[0]
