"""GET /health/: words for a person, a status for a machine."""

import re
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.utils import timezone

from maintenance.reminders.models import Digest, SweepMark
from rigsite.backup import making, noted
from rigsite.backup.restoring import Source, try_backup
from rigsite.celery import app
from rigsite.checkup import quick
from rigsite.env import public_address
from tests.builders import make_household, make_member

pytestmark = pytest.mark.django_db


def swept(minutes_ago: int) -> None:
    at = timezone.now() - timedelta(minutes=minutes_ago)
    SweepMark.objects.create(name="sweep", at=at)


def test_health_when_all_runs_then_200_and_words(client, broker):
    swept(minutes_ago=1)

    answer = client.get("/health/")

    assert answer.status_code == 200
    assert answer.text.splitlines()[:3] == [
        "Everything is running.",
        "Database: answers.",
        "Broker: answers.",
    ]
    assert "no-cache" in answer["cache-control"]


def test_health_when_nothing_was_swept_yet_then_503(client, broker):
    answer = client.get("/health/")

    assert answer.status_code == 503
    assert "Last sweep: none yet." in answer.text


def test_health_when_the_last_sweep_is_old_then_503(client, broker):
    swept(minutes_ago=20)

    answer = client.get("/health/")

    assert answer.status_code == 503
    assert re.search(r"Last sweep: 12\d\d seconds ago\.", answer.text)


def test_health_when_the_broker_is_gone_then_503(client, monkeypatch, tmp_path):
    swept(minutes_ago=1)
    nobody = f"redis+socket://{tmp_path}/nobody.sock?virtual_host=0"
    monkeypatch.setattr(app.conf, "broker_url", nobody)

    answer = client.get("/health/")

    assert answer.status_code == 503
    assert "Broker: isn't answering." in answer.text


def test_health_when_the_database_is_gone_then_503(client, broker, monkeypatch):
    def gone() -> None:
        raise OperationalError("server closed the connection")

    monkeypatch.setattr(connection, "cursor", gone)

    answer = client.get("/health/")

    assert answer.status_code == 503
    assert "Database: isn't answering." in answer.text
    assert "Last sweep: can't be read." in answer.text


def test_health_when_the_disk_is_nearly_full_then_it_runs_and_says_what_to_do(
    client, broker, monkeypatch
):
    swept(minutes_ago=1)
    monkeypatch.setattr(quick, "FEW_FREE", 10**18)

    answer = client.get("/health/")

    assert answer.status_code == 200
    assert "Make room" in answer.text


# --- the page of it -------------------------------------------------------------------


@pytest.fixture
def keeper():
    return make_member(founder=True)


def test_status_when_all_is_well_then_it_says_so_first(
    client_as, keeper, broker, settings, tmp_path
):
    swept(minutes_ago=1)
    settings.DATA = tmp_path
    now = timezone.now()
    at = now - timedelta(days=1)
    noted.note(noted.BACKUP, now=at, path=str(tmp_path / "it.zip"))
    noted.note(noted.ELSEWHERE, now=at, path="it.zip")
    noted.note(noted.TRIAL, now=at, good=True, words="9 rows, 1 files", doubts=[])

    page = client_as(keeper).get("/status/").text

    assert "Everything is running." in page
    assert f"1 day ago, {tmp_path / 'it.zip'}" in page
    assert "trial restore: 9 rows, 1 files, all good." in page
    assert "never." in page  # no mail was sent yet


def test_status_says_what_a_phone_needs_https_for(client_as, keeper, broker, settings):
    settings.BEHIND_PROXY, settings.SECURE_DOOR = False, None
    assert "Rigsite has no HTTPS here." in client_as(keeper).get("/status/").text

    settings.SECURE_DOOR = public_address("https://den.local:8021")
    page = client_as(keeper).get("/status/").text
    assert "Rigsite has HTTPS here, at <b>https://den.local:8021</b>" in page


def test_status_when_the_worker_is_deaf_then_its_age_tells(
    client_as, keeper, broker, settings, tmp_path
):
    settings.DATA = tmp_path
    swept(minutes_ago=40)

    page = client_as(keeper).get("/status/").text

    assert "The worker is stuck, even if its process is there" in page
    assert "Fix 4 things." in page  # no backup, none tried, none on another disk


def test_status_when_mail_waits_too_long_then_it_is_named(client_as, keeper, broker):
    swept(minutes_ago=1)
    made_at = timezone.now() - timedelta(hours=9)
    Digest.objects.create(
        member=keeper,
        key="one",
        day=made_at.date(),
        to="x@example.org",
        made_at=made_at,
    )

    page = client_as(keeper).get("/status/").text

    assert "1, the oldest since 9 hours ago." in page
    assert page.count("Look at this:</strong>") == 4


# --- a backup by a button -------------------------------------------------------------


@pytest.mark.either_database
@pytest.mark.django_db(transaction=True)
def test_download_when_the_keeper_asks_then_a_backup_that_opens_and_nothing_is_left(
    client_as, broker, tmp_path
):
    swept(minutes_ago=1)
    client = client_as(make_member(founder=True))
    assert "Download backup" in client.get("/status/").text

    answer = client.post("/status/backup/")

    assert "attachment" in answer["Content-Disposition"]
    (tmp_path / "got.zip").write_bytes(b"".join(answer.streaming_content))
    assert try_backup(Source(tmp_path / "got.zip")).manifest["program"] == "rigsite"
    assert not list(tmp_path.glob(".download-*"))
    [told] = [each for each in quick.backups(timezone.now()) if "another" in each.what]
    assert told.good


def test_download_when_a_keeper_is_not_the_founder_then_refused(client_as, keeper):
    other = make_member(make_household(name="Birch Street"))

    answer = client_as(other).post("/status/backup/")

    assert answer.status_code == 403


def test_download_when_there_is_no_room_then_said_on_status(
    client_as, keeper, broker, monkeypatch
):
    monkeypatch.setattr(making, "SPARE", 10**18)

    page = client_as(keeper).post("/status/backup/", follow=True)

    assert "No backup was made. It needs 1,000,000,000," in page.text
