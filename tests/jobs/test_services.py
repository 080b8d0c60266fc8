"""Calling for jobs, sweeping up what workers left, stopping one."""

from datetime import timedelta

import pytest
from celery import current_app
from django.utils import timezone

from maintenance.households.access import NotAllowed
from maintenance.households.refusals import Refused
from maintenance.jobs.lease import MOST_TRIES
from maintenance.jobs.services import enqueue, stop_job, sweep
from maintenance.packets.models import Packet
from rigsite.celery import app
from tests.builders import make_member


def until(seconds: int) -> dict:
    return {"claimed_until": timezone.now() + timedelta(seconds=seconds)}


def test_enqueue_then_the_task_of_its_kind_is_known_and_called_on_commit(
    make, kind, monkeypatch, django_capture_on_commit_callbacks
):
    sent = []
    monkeypatch.setattr(
        current_app, "send_task", lambda name, args: sent.append((name, args))
    )
    job = make()

    with django_capture_on_commit_callbacks(execute=True):
        enqueue(job)
        assert sent == []

    assert sent == [(kind.TASK, [job.pk])]
    app.loader.import_default_modules()
    assert kind.TASK in app.tasks


def test_sweep_then_those_that_wait_are_called_for(make, kind, called):
    first, second = make(), make(state=kind.RUNNING, **until(-1))
    make(state=kind.RUNNING, **until(30))
    make(state=kind.STOPPED)

    sweep(kind)

    one_at_a_time = kind is Packet
    assert called == [first.pk] if one_at_a_time else [first.pk, second.pk]


def test_sweep_when_a_job_killed_its_workers_then_given_up(make, kind, called):
    job = make(state=kind.RUNNING, tries=MOST_TRIES, **until(-1))

    sweep(kind)

    job.refresh_from_db()
    assert (job.state, job.problem) == (kind.FAILED, kind.GIVEN_UP)
    assert job.claimed_until is None
    assert called == []


@pytest.mark.parametrize("state", ["QUEUED", "RUNNING"])
def test_stop_when_in_work_then_stopped(make, kind, state):
    job = make(state=getattr(kind, state), **until(30))

    stop_job(job, by=make_member(job.its_household(), "crew"))

    job.refresh_from_db()
    assert (job.state, job.claimed_until) == (kind.STOPPED, None)


def test_stop_when_over_then_refused(make, kind):
    job = make(state=kind.FAILED)

    with pytest.raises(Refused) as refused:
        stop_job(job, by=make_member(job.its_household(), "crew"))

    assert refused.value.text == kind.NOTHING_TO_STOP


def test_stop_by_a_viewer_then_not_allowed(make):
    job = make()

    with pytest.raises(NotAllowed):
        stop_job(job, by=make_member(job.its_household(), "viewer"))
