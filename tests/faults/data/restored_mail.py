"""Mail after a backup was put back: nothing goes out again, no Message-ID is used
twice, what still holds is told by the next digest."""

from datetime import datetime, timedelta

from django.test.utils import override_settings
from django.utils import timezone

from maintenance.households.models import Member
from maintenance.plans.models import PlanItem
from maintenance.plans.standings import renew_household
from maintenance.reminders.models import CalendarFeed, Digest, DigestState, Notice
from maintenance.reminders.services import (
    keep_calendar,
    make_digests,
    raise_everywhere,
    send_waiting,
)
from maintenance.reminders.services.digests import make_safety_mails
from rigsite.backup.making import make_backup
from rigsite.backup.restoring import restore
from tests import builders
from tests.faults.mailbox import mailbox
from tests.faults.place import Place
from tests.faults.table import data_fault

DAY = timedelta(days=1)


@data_fault("backup put back after mail went out")
def put_back_after_mail(place: Place) -> str:
    now = timezone.now()
    with place.in_use(), mailbox() as box, _mail_to(box.port):
        member = _somebody_with_work_overdue_and_due_today(now)
        _day_of_mail(now - 2 * DAY)
        queued = Digest.objects.create(
            member=member,
            key="digest:queued",
            day=(now - DAY).date(),
            made_at=now,
            message_id="<queued@example.org>",
        )
        keep_calendar(member, now=now, shows="all", alarm_days=None)
        secret = CalendarFeed.objects.get().secret
        backup = make_backup(place.room, now=now - DAY)
        Digest.objects.filter(pk=queued.pk).update(state=DigestState.SENT)
        _day_of_mail(now)
        sent = list(box.taken)
        assert len(sent) == 2, sent
        lost = _safety_mail(member, now)

        restore(backup, now=now, replace=True)

        _day_of_mail(now)
        assert box.taken == sent, "sent again"
        queued.refresh_from_db()
        assert queued.state == DigestState.FOLDED, queued.state
        assert CalendarFeed.objects.get().secret == secret
        again = _safety_mail(member, now + DAY)
        assert (again.key, again.pk) == (lost.key, lost.pk)
        assert again.message_id != lost.message_id, "a Message-ID was used twice"
        _day_of_mail(now + DAY)
        new = box.taken[len(sent) :]
        assert len(new) == 1, new
        assert "<queued@example.org>" not in box.taken
        assert not set(new) & set(sent), "a Message-ID was used twice"
    return "nothing again that day, one mail the next, under a new Message-ID"


def _safety_mail(member: Member, now: datetime) -> Digest:
    item = PlanItem.objects.get(key="grease")
    day = now.date()
    notice = Notice.objects.create(
        item=item, member=member, stage="safety", cycle="told", raised_on=day
    )
    [mail] = make_safety_mails([notice], today=day, now=now)
    return mail


def _mail_to(port: int) -> override_settings:
    return override_settings(
        MAIL_SERVER_SET=True,
        EMAIL_USE_TLS=False,
        EMAIL_USE_SSL=False,
        EMAIL_HOST="127.0.0.1",
        EMAIL_PORT=port,
        DEFAULT_FROM_EMAIL="Rigsite <rigsite@example.org>",
    )


def _somebody_with_work_overdue_and_due_today(now: datetime) -> Member:
    member = Member.objects.get()
    member.digest_hour = 0
    member.save()
    member.user.email = "robin@example.org"
    member.user.save()
    rig = builders.make_rig(member.household, name="Juniper")
    today = member.household.today(now)
    for key, days in (("grease", 500), ("wash", 101)):
        builders.make_item(
            rig,
            key=key,
            triggers=[{"every": {"days": 100}}],
            baseline="stated",
            baseline_on=today - timedelta(days=days),
            taken_on=today - timedelta(days=days),
        )
    before = now - 2 * DAY
    renew_household(member.household, as_of=member.household.today(before))
    return member


def _day_of_mail(now: datetime) -> None:
    raise_everywhere(now)
    make_digests(now)
    send_waiting(now)
