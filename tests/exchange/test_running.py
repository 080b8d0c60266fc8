"""The job: portions, stopping, going on, two at once, a worker that dies."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from maintenance.exchange import running, services
from maintenance.exchange.models import ImportJob
from maintenance.exchange.running import bring_in
from maintenance.households.refusals import Refused
from maintenance.jobs.services import sweep
from maintenance.service_records.models import ServiceRecord
from tests.builders import TODAY, make_household, make_member, make_rig

from .helpers import fresh, looked_at

pytestmark = pytest.mark.django_db

ROWS = "Date,Work\n" + "".join(f"2024-01-{n:02},Job {n}\n" for n in range(1, 31))
COLUMNS = {0: "on", 1: "what"}


@pytest.fixture
def crew():
    return make_member(make_household(), "crew")


@pytest.fixture
def queued(crew, monkeypatch):
    """A file of thirty rows that waits for a worker, in portions of ten."""
    monkeypatch.setattr(running, "PORTION", 10)
    made = looked_at(make_rig(crew.household), crew, ROWS, columns=COLUMNS)
    services.start(made, by=crew, today=TODAY, with_doubtful=True)
    return fresh(made)


@pytest.fixture
def stopping(monkeypatch, crew):
    """Stops the file while its second portion is being made."""
    calls = []

    def record_many(rig, works, **kwargs):
        calls.append(rig)
        if len(calls) == 2:
            services.stop(ImportJob.objects.get(), by=crew)
        return original(rig, works, **kwargs)

    original = running.record_many
    monkeypatch.setattr(running, "record_many", record_many)


def test_stopped_on_the_way_then_what_is_in_stays_and_going_on_adds_the_rest(
    queued, stopping, crew
):
    bring_in(queued, today=TODAY)

    stopped = fresh(queued)
    assert (stopped.state, stopped.added) == ("stopped", 20)
    assert ServiceRecord.objects.count() == 20

    services.start(stopped, by=crew, today=TODAY, with_doubtful=True)
    bring_in(fresh(stopped), today=TODAY)
    done = fresh(stopped)
    assert (done.state, done.added, done.total) == ("done", 30, 30)
    assert ServiceRecord.objects.count() == 30


def test_twice_then_once(queued):
    bring_in(queued, today=TODAY)
    bring_in(fresh(queued), today=TODAY)

    assert ServiceRecord.objects.count() == 30


def test_held_by_a_worker_then_no_other_takes_it(queued):
    ImportJob.objects.update(
        state="running", claimed_until=timezone.now() + timedelta(seconds=30)
    )

    bring_in(fresh(queued), today=TODAY)

    assert not ServiceRecord.objects.exists()
    assert not ImportJob.objects.waiting().exists()


def test_worker_died_after_a_portion_then_the_next_one_adds_the_rest(
    queued, monkeypatch
):
    original = running._bring_portion
    monkeypatch.setattr(
        running,
        "_bring_portion",
        lambda *given: (
            original(*given)
            if not ServiceRecord.objects.exists()
            else (_ for _ in ()).throw(KeyboardInterrupt)
        ),
    )
    with pytest.raises(KeyboardInterrupt):
        bring_in(queued, today=TODAY)
    monkeypatch.undo()
    ImportJob.objects.update(claimed_until=timezone.now() - timedelta(seconds=1))

    bring_in(fresh(queued), today=TODAY)

    assert ServiceRecord.objects.count() == 30
    assert fresh(queued).added == 30


def test_file_that_kills_its_workers_then_given_up(queued):
    ImportJob.objects.update(state="running", tries=3, claimed_until=None)

    sweep(ImportJob)

    assert fresh(queued).state == "failed"


def test_table_that_is_gone_then_failed_with_a_word(queued, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "elsewhere"

    bring_in(queued, today=TODAY)

    assert fresh(queued).state == "failed"
    assert "Send it again" in fresh(queued).problem


def test_portion_refused_then_failed_with_the_reason_and_what_was_in_stays(
    queued, monkeypatch
):
    original = running.record_many

    def record_many(rig, works, **kwargs):
        if ServiceRecord.objects.exists():
            raise Refused("The odometer went back.")
        return original(rig, works, **kwargs)

    monkeypatch.setattr(running, "record_many", record_many)

    bring_in(queued, today=TODAY)

    failed = fresh(queued)
    assert (failed.state, failed.problem) == ("failed", "The odometer went back.")
    assert failed.added == ServiceRecord.objects.count() == 10


def test_many_rows_then_as_many_queries_as_of_few(
    queued, monkeypatch, django_assert_max_num_queries
):
    monkeypatch.setattr(running, "PORTION", 500)

    with django_assert_max_num_queries(70):
        bring_in(queued, today=TODAY)


def test_rows_that_tell_of_wheel_work_then_it_asks_and_the_answer_is_kept(crew):
    rows = "Date,Work\n2026-05-01,Rotated the tires\n2026-05-01,Oil change\n"
    rig = make_rig(crew.household)
    made = looked_at(rig, crew, rows, columns=COLUMNS)

    with pytest.raises(Refused, match="were wheels off"):
        services.start(made, by=crew, today=TODAY, with_doubtful=True)
    services.start(made, by=crew, today=TODAY, with_doubtful=True, wheels="all")
    bring_in(fresh(made), today=TODAY)

    [event] = rig.events.all()
    assert (event.kind, event.on) == ("wheel_off", date(2026, 5, 1))
