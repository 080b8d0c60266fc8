"""Claim, send, mark, against a real mail server that answers, refuses, falls silent."""

from datetime import timedelta

import pytest

from maintenance.reminders import smtp as conversation
from maintenance.reminders.models import Digest, DigestState
from maintenance.reminders.services import make_digest, send_digest, send_waiting
from maintenance.reminders.services.sending import CLAIM, GIVE_UP, _finish
from tests.builders import TODAY
from tests.mail_server import CUT
from tests.reminders.builders import (
    digest_for,
    done,
    due_item,
    make_home,
    noon,
    overdue_item,
    renewed,
    stages,
)
from tests.servers import free_port

pytestmark = pytest.mark.django_db
NOW = noon(TODAY)
MINUTE = timedelta(minutes=1)
DAY = timedelta(days=1)


@pytest.fixture
def digest() -> Digest:
    member, rig = make_home()
    overdue_item(rig)
    return digest_for(member)


def ids(smtp) -> list[str]:
    return [message["Message-ID"] for message in smtp.messages]


def test_send_digest_when_the_server_takes_it_then_sent(smtp, digest):
    send_digest(digest, now=NOW)

    assert (digest.state, digest.problem) == (DigestState.SENT, "")
    assert smtp.recipients == [[digest.member.user.email]]
    assert ids(smtp) == [digest.message_id]


def test_send_digest_when_the_household_is_the_demo_then_it_stays_in_the_tray(
    smtp, digest
):
    household = digest.member.household
    household.is_demo = True
    household.save()

    send_digest(digest, now=NOW)

    assert (digest.state, smtp.messages) == (DigestState.IN_TRAY, [])


def test_send_digest_when_called_again_then_it_is_not_sent_twice(smtp, digest):
    for minutes in (0, 1, 60, 6 * 60):
        send_digest(digest, now=NOW + minutes * MINUTE)

    assert len(smtp.messages) == 1


def test_send_digest_when_refused_for_good_then_the_servers_words_are_kept(
    smtp, digest
):
    smtp.answers = ["550 5.1.1 No such mailbox here"]

    send_digest(digest, now=NOW)
    send_digest(digest, now=NOW + DAY)

    assert digest.state == DigestState.REFUSED
    assert digest.problem == "The server answered: 550 5.1.1 No such mailbox here"
    assert smtp.messages == []


def test_send_digest_when_put_off_then_again_after_a_pause_that_grows(smtp, digest):
    smtp.answers = ["451 Try again later"] * 3
    tried = []
    for minutes in range(0, 90, 5):
        before = len(smtp.answers)
        send_digest(digest, now=NOW + minutes * MINUTE)
        if len(smtp.answers) < before or digest.state == DigestState.SENT:
            tried.append(minutes)
            if digest.state == DigestState.SENT:
                break

    assert tried == [0, 5, 20, 50]
    assert len(smtp.messages) == 1


def test_send_digest_when_put_off_and_done_meanwhile_then_it_is_dropped(smtp, digest):
    smtp.answers = ["451 Greylisted"]
    send_digest(digest, now=NOW)
    done(digest.notices.get().item, TODAY)
    renewed(digest.member.household)

    send_digest(digest, now=NOW + 10 * MINUTE)

    assert digest.state == DigestState.EMPTY
    assert smtp.messages == []


def test_send_digest_when_the_answer_never_comes_then_the_same_mail_again(smtp, digest):
    smtp.answers = [CUT]
    send_digest(digest, now=NOW)
    assert digest.state == DigestState.UNKNOWN
    # Done since: but the mail may have arrived, so it is repeated as it was.
    done(digest.notices.get().item, TODAY)
    renewed(digest.member.household)

    send_digest(digest, now=NOW + 10 * MINUTE)

    assert digest.state == DigestState.SENT
    first, second = smtp.messages
    assert first["Message-ID"] == second["Message-ID"] == digest.message_id
    assert first["Date"] == second["Date"]
    assert text_of(first) == text_of(second)


def text_of(message) -> str:
    return message.get_body(("plain",)).get_content()


def test_send_digest_when_the_answer_never_comes_and_the_member_left_then_given_up(
    smtp, digest
):
    smtp.answers = [CUT]
    send_digest(digest, now=NOW)
    type(digest.member).objects.update(left_on=TODAY)

    send_digest(digest, now=NOW + 10 * MINUTE)

    assert digest.state == DigestState.GIVEN_UP
    assert len(smtp.messages) == 1


def test_send_digest_when_no_server_answers_then_it_waits(settings, digest):
    settings.MAIL_SERVER_SET = True
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()

    send_digest(digest, now=NOW)

    assert digest.state == DigestState.QUEUED
    where = f"127.0.0.1, port {settings.EMAIL_PORT}"
    assert digest.problem == f"No mail server could be reached safely at {where}."
    assert digest.next_attempt_at == NOW + 5 * MINUTE


def test_send_digest_when_no_server_answers_for_days_then_given_up(settings, digest):
    settings.MAIL_SERVER_SET = True
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()

    send_digest(digest, now=digest.made_at + GIVE_UP + MINUTE)

    assert digest.state == DigestState.GIVEN_UP
    assert digest.next_attempt_at is None


def test_server_back_after_days_then_one_mail_says_all(smtp, settings, digest):
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, free_port()
    send_digest(digest, now=NOW)
    due_item(digest.notices.get().item.rig)
    renewed(digest.member.household, TODAY + DAY)
    later = digest_for(digest.member, TODAY + DAY)
    settings.EMAIL_PORT = port

    send_waiting(NOW + DAY)

    assert ids(smtp) == [later.message_id]
    assert stages(later.notices.all()) == [("due", "due"), ("overdue", "overdue")]


# --- crashes --------------------------------------------------------------------------


class Crash(BaseException):
    """As when the process is killed: nothing of ours may catch it."""


def crash(*_args, **_kwargs):
    raise Crash


def test_crash_while_sending_then_the_same_mail_after_the_claim(
    smtp, digest, monkeypatch
):
    real = conversation.deliver
    monkeypatch.setattr(
        conversation, "deliver", lambda *a, **k: (real(*a, **k), crash())
    )
    with pytest.raises(Crash):
        send_digest(digest, now=NOW)
    monkeypatch.setattr(conversation, "deliver", real)

    send_digest(digest, now=NOW + CLAIM - MINUTE)  # still somebody's
    assert len(smtp.messages) == 1
    send_digest(digest, now=NOW + CLAIM)

    assert digest.state == DigestState.SENT
    assert ids(smtp) == [digest.message_id] * 2
    assert text_of(smtp.messages[0]) == text_of(smtp.messages[1])


@pytest.mark.parametrize("state", [DigestState.UNKNOWN, DigestState.SENDING])
def test_mail_that_may_have_arrived_when_then_put_off_then_it_stays_that_mail(
    smtp, digest, state
):
    smtp.answers = [CUT, "451 4.3.0 Try later"]
    send_digest(digest, now=NOW)
    words = digest.text
    Digest.objects.update(state=state, claimed_until=NOW, next_attempt_at=NOW)

    send_digest(digest, now=NOW + MINUTE)

    assert digest.state == DigestState.UNKNOWN
    assert make_digest(digest.member, day=TODAY + timedelta(days=1)) is None
    send_digest(digest, now=NOW + timedelta(days=1))
    assert (digest.state, digest.text) == (DigestState.SENT, words)
    assert ids(smtp) == [digest.message_id] * 2


def test_crash_before_it_was_written_then_written_and_sent(smtp, digest):
    Digest.objects.update(
        state=DigestState.SENDING, attempts=1, claimed_until=NOW - MINUTE
    )

    send_waiting(NOW)

    digest.refresh_from_db()
    assert digest.state == DigestState.SENT
    assert "Juniper" in text_of(smtp.messages[0])


def test_claim_that_ran_out_then_the_late_one_does_not_overwrite(smtp, digest):
    """Who comes back after another has taken over must not undo what that one did."""
    send_digest(digest, now=NOW)
    late = Digest.objects.get(pk=digest.pk)
    late.attempts = 0

    _finish(late, DigestState.REFUSED, problem="too late")

    digest.refresh_from_db()
    assert digest.state == DigestState.SENT


def test_send_waiting_when_several_wait_then_each_once(smtp, digest):
    other, rig = make_home(name="Other")
    overdue_item(rig)
    digest_for(other)

    send_waiting(NOW)
    send_waiting(NOW)

    assert len(set(ids(smtp))) == len(smtp.messages) == 2
    assert make_digest(other, day=TODAY) is None
