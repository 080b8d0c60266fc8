"""The preview of a long file is made by a worker, of a short one as it is shown."""

import os
import time

import pytest
from django.urls import reverse

from maintenance.exchange import previews, services
from maintenance.exchange.imports.files import path_of, source_of_text
from maintenance.exchange.models import ImportJob
from maintenance.exchange.previews import make_preview, preview_of
from maintenance.exchange.tasks import preview
from maintenance.households.models import Role
from tests.builders import TODAY, make_household, make_member, make_rig

pytestmark = pytest.mark.django_db

ROWS = "Date,Work\n2026-04-01,Oil\n2026-04-02,Wash\n"


@pytest.fixture
def called(monkeypatch) -> list[tuple]:
    found: list[tuple] = []
    monkeypatch.setattr(
        previews, "call_worker", lambda task, pk, **_how: found.append((task, pk))
    )
    return found


@pytest.fixture
def job(called, clock) -> ImportJob:
    clock(f"{TODAY} 12:00")
    rig = make_rig(make_household())
    by = make_member(rig.household, Role.CREW)
    made = services.begin(rig, by=by, source=source_of_text("Pasted rows", ROWS))
    services.choose_columns(made, by=by, columns={0: "on", 1: "what"})
    return made


def test_short_file_then_judged_at_once(job, called):
    assert len(preview_of(job, today=TODAY).rows) == 2
    assert called == []


def test_long_file_then_the_page_waits_for_the_worker(
    job, called, client_as, monkeypatch
):
    monkeypatch.setattr(previews, "LONG", 10)
    client = client_as(job.begun_by)
    page = reverse("bringing", args=[job.key])

    waits = client.get(page).content.decode()
    assert "The preview will be ready" in waits
    assert called == [(previews.TASK, job.pk)]

    preview(job.pk)
    there = client.get(page).content.decode()
    assert "The preview will be ready" not in there
    assert "Wash" in there
    assert len(called) == 1

    assert client.post(page).status_code == 302
    job.refresh_from_db()
    assert (job.state, job.total) == ("queued", 2)


def test_preview_when_something_else_is_answered_then_made_anew(
    job, called, monkeypatch
):
    monkeypatch.setattr(previews, "LONG", 10)
    make_preview(job, today=TODAY)
    assert preview_of(job, today=TODAY)

    job.distance_unit = "km"

    assert preview_of(job, today=TODAY) is None


def test_preview_when_the_table_is_gone_then_none_and_the_page_says_so(job, client_as):
    path_of(job).unlink()

    make_preview(job, today=TODAY)
    page = client_as(job.begun_by).get(reverse("bringing", args=[job.key]), follow=True)

    assert "no longer have the file" in page.content.decode()


def test_previews_when_a_day_old_then_removed(job):
    make_preview(job, today=TODAY)
    [file] = previews._folder().iterdir()
    for age, stays in ((0, True), (previews.KEPT_FOR, False)):
        moment = time.time() - age  # by the clock of the test, not of the disk
        os.utime(file, (moment, moment))

        previews.remove_old()

        assert file.exists() == stays
