"""The jobs and the commands of the same names: thin, over the services."""

from datetime import timedelta

import pytest
from celery import current_app
from django.core.management import call_command
from django.utils import timezone
from kombu.exceptions import OperationalError

from maintenance.reminders import queue, tasks
from maintenance.reminders.models import Digest, DigestState, Notice, SweepMark
from maintenance.reminders.services import make_digest
from rigsite.celery import app
from tests.builders import TODAY
from tests.reminders.builders import digest_for, make_home, noon, overdue_item

pytestmark = pytest.mark.django_db


@pytest.fixture
def home(clock):
    clock("2026-05-04 12:00", "America/Denver")
    member, rig = make_home()
    overdue_item(rig)
    return member


def waiting() -> int:
    """How many calls wait in the broker."""
    with app.connection_for_read() as connection:
        return connection.default_channel.client.llen("rigsite")


def test_tasks_when_run_in_turn_then_the_mail_is_made_and_sent(home):
    tasks.raise_notices()
    assert Notice.objects.count() == 1
    tasks.send_digests()
    digest = Digest.objects.get()
    tasks.send_digest(digest.pk)

    digest.refresh_from_db()
    assert digest.state == DigestState.IN_TRAY


def test_the_name_that_mail_is_queued_under_is_that_of_a_task():
    app.loader.import_default_modules()

    assert queue.SEND in app.tasks


def test_send_digest_when_the_mail_is_gone_then_quiet(home):
    tasks.send_digest(4711)


def test_sweep_when_mail_waits_then_it_goes_to_the_workers(home, broker):
    digest_for(home)

    tasks.sweep()

    assert waiting() == 1
    assert SweepMark.objects.get(name="sweep").at == timezone.now()


def test_sweep_when_mail_is_being_sent_then_only_after_its_claim(home, broker, clock):
    digest_for(home)
    Digest.objects.update(
        state=DigestState.SENDING,
        attempts=1,
        claimed_until=timezone.now() + timedelta(minutes=10),
    )
    tasks.sweep()
    assert waiting() == 0

    clock("2026-05-04 12:10", "America/Denver")
    tasks.sweep()

    assert waiting() == 1


def test_make_digest_when_committed_then_it_goes_to_the_workers(
    home, broker, django_capture_on_commit_callbacks
):
    tasks.raise_notices()

    with django_capture_on_commit_callbacks(execute=True):
        make_digest(home, day=TODAY)
        assert waiting() == 0

    assert waiting() == 1


def test_make_digest_when_the_broker_is_gone_then_the_row_stays(
    home, monkeypatch, caplog, django_capture_on_commit_callbacks
):
    def gone(*_args, **_kwargs):
        raise OperationalError

    monkeypatch.setattr(current_app, "send_task", gone)
    tasks.raise_notices()

    with django_capture_on_commit_callbacks(execute=True):
        make_digest(home, day=TODAY)

    assert Digest.objects.get().state == DigestState.QUEUED
    assert "the broker does not answer" in caplog.text


def test_commands_when_run_in_turn_then_they_say_what_they_did(home, capsys, broker):
    call_command("raise_notices")
    call_command("send_digests")
    call_command("sweep")

    out = capsys.readouterr().out
    assert "Reminders made: 1." in out
    assert f"{home.user.email}: Overdue on Juniper: Overdue" in out
    assert "Kept here: no mail server" in out
    assert "Emails given to the workers: 0." in out


def test_command_send_digests_when_run_twice_then_nothing_is_sent_again(home, capsys):
    call_command("raise_notices")
    call_command("send_digests")
    capsys.readouterr()

    call_command("send_digests")

    assert capsys.readouterr().out == "No email is waiting now.\n"
    assert noon(TODAY) == timezone.now()
