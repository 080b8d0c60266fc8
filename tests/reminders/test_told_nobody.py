"""What a mail carried that told nobody comes with the next one."""

from datetime import timedelta

import pytest

from maintenance.reminders.models import Digest, DigestState
from maintenance.reminders.services import (
    make_digests,
    raise_notices,
    send_digest,
    send_waiting,
)
from tests.builders import TODAY
from tests.reminders.builders import (
    digest_for,
    make_home,
    noon,
    overdue_item,
    stages,
    take_on,
    wheel_off,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = noon(TODAY)


@pytest.fixture
def digest(clock) -> Digest:
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = make_home()
    overdue_item(rig)
    return digest_for(member)


def next_day() -> Digest:
    (later,) = make_digests(NOW + DAY)
    send_digest(later, now=NOW + DAY)
    return later


def test_refused_once_then_the_next_mail_says_it(smtp, digest):
    smtp.answers = ["554 5.6.0 We mind your words"]
    send_digest(digest, now=NOW)
    assert digest.state == DigestState.REFUSED

    later = next_day()

    assert later.state == DigestState.SENT
    assert stages(later.notices.all()) == [("overdue", "overdue")]
    assert len(smtp.messages) == 1


def test_given_up_after_five_days_then_the_next_mail_says_it(smtp, digest):
    Digest.objects.update(state=DigestState.UNKNOWN, written_at=NOW, attempts=9)
    smtp.answers = ["451 4.3.0 Try later"]
    digest.refresh_from_db()
    send_digest(digest, now=NOW + 6 * DAY)
    assert digest.state == DigestState.GIVEN_UP

    (later,) = make_digests(NOW + 7 * DAY)

    assert stages(later.notices.all()) == [("overdue", "overdue")]


def test_safety_mail_refused_once_then_the_next_mail_says_it(smtp, clock):
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = make_home()
    take_on(rig, "lug_recheck")
    wheel_off(rig)
    raise_notices(member.household, today=TODAY)
    smtp.answers = ["554 5.6.0 We mind your words"]
    send_waiting(NOW)
    assert Digest.objects.get().state == DigestState.REFUSED

    later = next_day()

    assert ("lug_recheck", "safety") in stages(later.notices.all())


def test_not_sent_since_mail_was_ended_then_said_when_it_is_wanted_again(smtp, digest):
    member = digest.member
    type(member).objects.update(wants_mail=False)
    send_digest(digest, now=NOW)
    assert digest.state == DigestState.EMPTY
    assert make_digests(NOW + DAY) == []

    type(member).objects.update(wants_mail=True)

    assert stages(next_day().notices.all()) == [("overdue", "overdue")]


@pytest.mark.either_database
def test_server_away_for_two_weeks_then_one_mail_says_all(smtp, digest):
    member = digest.member
    for days in range(14):
        smtp.answers = ["421 4.3.2 Not now"] * 50
        day = TODAY + days * DAY
        raise_notices(member.household, today=day)
        make_digests(NOW + days * DAY)
        for hours in (0, 4, 8):
            send_waiting(NOW + days * DAY + timedelta(hours=hours))
    assert smtp.messages == []
    smtp.answers = []

    make_digests(NOW + 14 * DAY)
    send_waiting(NOW + 14 * DAY)

    assert len(smtp.messages) == 1
    sent = Digest.objects.get(state=DigestState.SENT)
    assert ("overdue", "overdue") in stages(sent.notices.all())
