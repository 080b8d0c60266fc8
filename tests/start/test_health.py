"""GET /health/: words for a person, a status for a machine."""

import re
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.utils import timezone

from maintenance.reminders.models import SweepMark
from rigsite.celery import app

pytestmark = pytest.mark.django_db


def swept(minutes_ago: int) -> None:
    at = timezone.now() - timedelta(minutes=minutes_ago)
    SweepMark.objects.create(name="sweep", at=at)


def test_health_when_all_runs_then_200_and_words(client, broker):
    swept(minutes_ago=1)

    answer = client.get("/health/")

    assert answer.status_code == 200
    assert answer.text.splitlines()[:3] == [
        "Everything runs.",
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
    assert "Broker: does not answer." in answer.text


def test_health_when_the_database_is_gone_then_503(client, broker, monkeypatch):
    def gone() -> None:
        raise OperationalError("server closed the connection")

    monkeypatch.setattr(connection, "cursor", gone)

    answer = client.get("/health/")

    assert answer.status_code == 503
    assert "Database: does not answer." in answer.text
    assert "Last sweep: cannot be read." in answer.text
