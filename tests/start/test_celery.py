"""What holds for every task, and the static schedule."""

from datetime import timedelta

from django.conf import settings

from maintenance.exchange.exports.scope import our_models
from maintenance.jobs.models import LongJob
from rigsite.celery import app
from rigsite.checkup.quick import OLDEST_SWEEP
from rigsite.processes import QUEUES


def entries() -> list[dict]:
    return list(app.conf.beat_schedule.values())


def test_schedule_when_read_then_every_job_exists():
    app.loader.import_default_modules()

    missing = [each["task"] for each in entries() if each["task"] not in app.tasks]

    assert missing == []


def test_schedule_when_read_then_every_few_minutes_and_calls_do_not_pile_up():
    for entry in entries():
        assert 60 <= entry["schedule"] <= 600
        assert entry["options"]["expires"] <= entry["schedule"]


def test_schedule_when_read_then_a_healthy_house_sweeps_well_within_the_limit():
    [sweep] = [each for each in entries() if each["task"].endswith("tasks.sweep")]
    longest_task = timedelta(seconds=app.conf.task_time_limit)

    assert timedelta(seconds=sweep["schedule"]) * 2 < OLDEST_SWEEP
    assert longest_task < OLDEST_SWEEP


def test_long_work_when_sent_then_to_the_queue_of_its_own_worker():
    routes = settings.CELERY_TASK_ROUTES
    long_jobs = {kind.TASK for kind in our_models() if issubclass(kind, LongJob)}

    assert set(routes) == long_jobs | {"maintenance.exchange.tasks.preview"}
    app.loader.import_default_modules()
    assert set(routes) <= set(app.tasks)
    queues = {each["queue"] for each in routes.values()}
    assert {settings.CELERY_TASK_DEFAULT_QUEUE, *queues} == set(QUEUES)
    assert settings.CELERY_TASK_DEFAULT_QUEUE not in queues


def test_tasks_when_taken_then_acknowledged_late_and_never_twice_by_time():
    options = app.conf.broker_transport_options

    assert app.conf.task_acks_late
    assert app.conf.task_reject_on_worker_lost
    assert app.conf.worker_prefetch_multiplier == 1
    assert app.conf.task_time_limit < options["visibility_timeout"]


def test_tasks_when_sent_then_as_json_and_without_results():
    assert app.conf.accept_content == ["json"]
    assert app.conf.task_serializer == "json"
    assert app.conf.task_ignore_result
    assert app.conf.result_backend is None


def test_moments_when_stored_then_in_utc():
    assert (app.conf.timezone, settings.TIME_ZONE) == ("UTC", "UTC")
    assert settings.USE_TZ
