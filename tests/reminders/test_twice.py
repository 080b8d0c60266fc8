"""Two at once give the same as one: threads, each with its own connection."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from maintenance.reminders.answer_links import GOOD_FOR, AnswerLink
from maintenance.reminders.calendar_feed import publish
from maintenance.reminders.models import AnsweredLink, Digest, DigestState, Notice
from maintenance.reminders.services import (
    keep_calendar,
    make_digest,
    raise_notices,
    send_digest,
    tell_at_once,
)
from maintenance.service_records.models import ServiceRecord
from tests.builders import TODAY
from tests.reminders.builders import (
    digest_for,
    due_item,
    make_home,
    noon,
    overdue_item,
    renewed,
    take_on,
    wheel_off,
)

pytestmark = pytest.mark.django_db(transaction=True)
SEVERAL = 4


def at_once(call: Callable[[], Any]) -> list[Any]:
    """What the call gives to each of several threads that start together."""
    barrier = Barrier(SEVERAL)

    def run() -> Any:
        try:
            connection.ensure_connection()
            barrier.wait(10)
            return call()
        finally:
            connection.close()

    with ThreadPoolExecutor(SEVERAL) as pool:
        return [job.result() for job in [pool.submit(run) for _ in range(SEVERAL)]]


def test_raise_notices_by_several_at_once_then_each_once():
    member, rig = make_home()
    overdue_item(rig)
    due_item(rig)
    renewed(member.household)

    at_once(lambda: raise_notices(member.household, today=TODAY))

    assert Notice.objects.count() == 2


def test_tell_at_once_by_several_at_once_then_one_mail():
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)
    renewed(member.household)

    at_once(lambda: tell_at_once(member.household, today=TODAY))

    assert Digest.objects.count() == 1
    assert not Notice.objects.filter(stage="safety", digest=None).exists()


def test_make_digest_by_several_at_once_then_one():
    member, rig = make_home()
    overdue_item(rig)
    raise_notices(member.household, today=TODAY)

    made = at_once(lambda: make_digest(member, day=TODAY))

    assert len([digest for digest in made if digest is not None]) == 1
    assert Digest.objects.get().notices.count() == 1


def test_send_digest_by_several_at_once_then_sent_once(smtp):
    member, rig = make_home()
    overdue_item(rig)
    pk = digest_for(member).pk

    at_once(lambda: send_digest(Digest.objects.get(pk=pk), now=noon(TODAY)))

    assert len(smtp.messages) == 1
    sent = Digest.objects.get()
    assert (sent.state, sent.attempts) == (DigestState.SENT, 1)


def test_link_confirmed_by_several_at_once_then_one_record(settings):
    settings.PUBLIC_URL = "https://rigs.example.org"
    member, rig = make_home()
    item = overdue_item(rig)
    renewed(member.household)
    until = member.household.today() + GOOD_FOR
    link = AnswerLink("done", 1, member.pk, item.pk, until)
    path = link.url.removeprefix(settings.PUBLIC_URL)
    given = {"on": TODAY.isoformat(), "outcome": "done"}

    codes = at_once(lambda: Client().post(path, given).status_code)

    assert sorted(codes) == [302, 410, 410, 410]
    assert ServiceRecord.objects.count() == AnsweredLink.objects.count() == 1


def test_calendar_fetched_by_several_at_once_then_the_same_entry():
    member, rig = make_home()
    due_item(rig)
    home = renewed(member.household, member.household.today())
    feed = keep_calendar(member, now=noon(TODAY), shows="all", alarm_days=None)
    today = home.today()

    texts = at_once(lambda: publish(feed, now=noon(TODAY), today=today))

    assert len(set(texts)) == 1
    assert feed.entries.count() == 1
