"""Two at once give the same as one: threads, each with its own connection."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from maintenance.reminders.models import Digest, DigestState, Notice
from maintenance.reminders.services import (
    make_digest,
    raise_notices,
    send_digest,
    tell_at_once,
)
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
