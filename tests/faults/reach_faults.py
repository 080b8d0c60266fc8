"""Faults of the way to people: what the mail server does, and what must have come of
it."""

from datetime import datetime, timedelta

import time_machine
from django.conf import settings
from django.utils import timezone

from maintenance.reminders.models import Digest, DigestState, Notice
from maintenance.reminders.services import (
    make_digests,
    raise_everywhere,
    send_waiting,
)
from tests.faults.house import House
from tests.faults.table import job_fault
from tests.faults.time_faults import one_home
from tests.servers import free_port

DAY = timedelta(days=1)


def _beat(now: datetime) -> None:
    with time_machine.travel(now, tick=False):
        raise_everywhere(now)
        make_digests(now)
        send_waiting(now)


@job_fault("mail server away for two weeks")
def server_away_for_two_weeks(house: House) -> str:
    member = one_home()
    now, port = timezone.now(), settings.EMAIL_PORT
    settings.EMAIL_PORT = free_port()  # nobody listens
    try:
        for hours in range(0, 14 * 24, 6):
            _beat(now + timedelta(hours=hours))
    finally:
        settings.EMAIL_PORT = port
    assert house.mailbox.taken == []

    _beat(now + 14 * DAY)

    assert len(house.mailbox.taken) == 1, house.mailbox.taken
    sent = Digest.objects.get(state=DigestState.SENT)
    told = Notice.objects.filter(member=member, item__key="over").order_by("-pk")
    assert told[0].digest == sent
    waits = Notice.objects.filter(digest__state__in=["refused", "given_up", "empty"])
    assert not waits.exists()
    return "nothing lost: one mail says all"


@job_fault("a mail refused once")
def refused_once(house: House) -> str:
    one_home()
    now = timezone.now()
    house.mailbox.at_data = ["554 5.6.0 We mind your words"]
    _beat(now)
    assert Digest.objects.get().state == DigestState.REFUSED
    assert house.mailbox.taken == []

    _beat(now + DAY)

    sent = Digest.objects.get(state=DigestState.SENT)
    assert {row.item.key for row in sent.notices.all()} == {"over"}
    assert house.mailbox.taken == [sent.message_id]
    return "the next mail says it"
