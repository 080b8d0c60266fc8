"""What every test may use: a fixed clock, the mail box, real servers; no network."""

import contextlib
import datetime as dt
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.conf import settings as django_settings
from django.core.management import call_command
from django.db import connection, transaction
from django.test import Client, override_settings
from django.utils import timezone
from hypothesis import HealthCheck, settings
from kombu import pools

from maintenance.disk import make_folder
from maintenance.reminders.queue import SEND
from rigsite.backup.making import copy_database
from rigsite.backup.scratch import database_in_use, scratch
from rigsite.celery import app
from tests import mail_server, servers

# How long an example took proves nothing: the machine may be busy.
settings.register_profile(
    "steady", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")

PLAIN_STATIC = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}


def pytest_configure(config: pytest.Config) -> None:
    # Static files under plain names, from where they lie (the hashed ones need
    # `collectstatic` first; the tests that start the whole program use those).
    django_settings.STORAGES = django_settings.STORAGES | {"staticfiles": PLAIN_STATIC}
    django_settings.WHITENOISE_AUTOREFRESH = True
    django_settings.WHITENOISE_USE_FINDERS = True
    # Passwords that hash fast.
    django_settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    if django_settings.OWN_BROKER:
        # Only `start` runs that broker. Tests that need one take the fixture `broker`.
        app.conf.broker_url = "memory://"


# What a test that needs the database of the run asks for, by a mark or a fixture;
# without one of these pytest-django lets it reach none. `broker` is run on both as
# well: what is sent depends on whose broker it is. `empty` is a database of its own.
ON_A_SERVER = {"django_db_setup", "broker", "empty"}
# What asks for a SQLite file of its own, whatever the database of the run is.
ON_A_FILE = "migrated"
NEEDS_NONE = pytest.StashKey[int]()


@pytest.hookimpl(trylast=True)  # of those that the marks asked for let through
def pytest_collection_modifyitems(
    config: pytest.Config, items: list[pytest.Item]
) -> None:
    """The files that take longest first: else one process is at them when the other has
    done all. On PostgreSQL only what needs a database: the others would prove again
    what the run on SQLite proves."""
    long = {each.path for each in items if _takes_long(each)}
    items.sort(key=lambda each: each.path not in long)
    if django_settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        return
    without = [each for each in items if not _needs_a_database(each)]
    items[:] = [each for each in items if _needs_a_database(each)]
    config.hook.pytest_deselected(items=without)
    config.stash[NEEDS_NONE] = len(without)
    if hasattr(config, "workeroutput"):  # a process of xdist's: it tells the first one
        config.workeroutput["needs_none"] = len(without)


def _takes_long(item: pytest.Item) -> bool:
    """Most of what runs on one database only does so because it takes long."""
    return any(map(item.get_closest_marker, ("whole_program", "either_database")))


def _needs_a_database(item: pytest.Item) -> bool:
    fixtures = set(getattr(item, "fixturenames", ()))
    if item.get_closest_marker("django_db"):
        return True
    return bool(fixtures & ON_A_SERVER) and ON_A_FILE not in fixtures


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    output = getattr(node, "workeroutput", {})
    if "needs_none" in output:
        node.config.stash[NEEDS_NONE] = output["needs_none"]


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """What was not tested here is said, each with its reason."""
    if NEEDS_NONE in config.stash:
        count = config.stash[NEEDS_NONE]
        terminalreporter.write_line(
            f"{count} tests and all of tests/core need no database: they are run on"
            " SQLite alone."
        )
    for report in terminalreporter.getreports("skipped"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else ""
        terminalreporter.write_line(f"NOT RUN: {report.nodeid}: {reason}")


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """SQLite's test database is a file, as in use: one in memory locks otherwise."""
    database = django_settings.DATABASES["default"]
    if database["ENGINE"].endswith("sqlite3"):
        file = tmp_path_factory.mktemp("database") / "test.db"
        database.setdefault("TEST", {})["NAME"] = str(file)
        # Nothing in it need survive a loss of power; waiting for the disk is slow.
        command = database["OPTIONS"]["init_command"]
        options = {"init_command": command.replace("=FULL", "=OFF")}
        database["OPTIONS"] = database["OPTIONS"] | options


@pytest.fixture(scope="session")
def django_db_setup(
    django_db_setup: None,
    django_db_blocker: Any,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """The plugin's own; and of SQLite a copy, as migrated, before a test writes to it
    (`migrated`). The plugin makes none where no test of the run asks for one: what the
    settings name then is somebody's own."""
    if connection.vendor != "sqlite":
        return
    made = tmp_path_factory.getbasetemp() / "migrated.db"
    settings = connection.settings_dict
    with django_db_blocker.unblock():
        if settings["NAME"] == settings["TEST"]["NAME"]:
            copy_database(made)
        else:
            with database_in_use(scratch(made)):
                call_command("migrate", verbosity=0)


@pytest.fixture(scope="session")
def migrated(
    django_db_setup: None, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[Path], Path]:
    """migrated(folder): a data folder with an empty SQLite database of this version, as
    an earlier start leaves it: for whatever is not about the first start."""

    def make(folder: Path) -> Path:
        make_folder(folder)
        database = folder / "rigsite.db"
        shutil.copy(tmp_path_factory.getbasetemp() / "migrated.db", database)
        database.chmod(0o600)
        return folder

    return make


@pytest.fixture(scope="module")
def shared(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any
) -> Callable[..., Any]:
    """What the tests of a file begin with, made once:

        with shared(make, at="2026-05-04 09:00") as (made, files):
            yield ...

    Its rows are there until the end of the `with`, for every test of the file, in a
    transaction that is then rolled back; what a test does to them is rolled back at its
    own end. So each test reads its rows anew, and copies the files it needs."""

    @contextlib.contextmanager
    def stand(make: Callable[[], Any], *, at: str) -> Iterator[tuple[Any, Path]]:
        folder = tmp_path_factory.mktemp("shared")
        folders = override_settings(DATA=folder, MEDIA_ROOT=folder / "files")
        moment = dt.datetime.fromisoformat(at).replace(
            tzinfo=ZoneInfo("America/Denver")
        )
        with django_db_blocker.unblock(), transaction.atomic():
            with folders, time_machine.travel(moment, tick=False):
                made = make()
            yield made, folder / "files"
            transaction.set_rollback(True)

    return stand


@pytest.fixture(autouse=True)
def _own_folders(settings: Any, tmp_path: Path) -> None:
    settings.DATA, settings.MEDIA_ROOT = tmp_path, tmp_path / "files"


@pytest.fixture
def clock() -> Iterator[Callable[..., None]]:
    """Set the time: clock("2026-05-04 09:00", "America/Denver"). Without a zone it is
    UTC, without an hour it is noon. May be called again to move on."""
    traveller = time_machine.travel(dt.datetime.now(dt.UTC), tick=False)
    coordinates = traveller.start()

    def set_to(text: str, zone: str = "UTC") -> None:
        moment = dt.datetime.fromisoformat(text if len(text) > 10 else f"{text} 12:00")
        coordinates.move_to(moment.replace(tzinfo=ZoneInfo(zone)), tick=False)

    yield set_to
    traveller.stop()


@pytest.fixture
def client_as() -> Callable[[Any], Client]:
    """A logged-in browser: client_as(member).get("/")."""

    def log_in(member: Any) -> Client:
        client = Client()
        client.force_login(
            member.user, backend="django.contrib.auth.backends.ModelBackend"
        )
        # As after a first page: what is noted of a login is not to be counted.
        session = client.session
        session["device"], session["seen"] = "", timezone.now().isoformat()
        session.save()
        return client

    return log_in


@pytest.fixture(scope="session")
def broker_server(
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[servers.Broker]:
    with servers.valkey(tmp_path_factory.mktemp("broker")) as started:
        yield started


@pytest.fixture
def broker(broker_server: servers.Broker) -> Iterator[str]:
    """The address of a running Valkey that this test's Celery app uses."""
    before = app.conf.broker_url
    _use_broker(broker_server.url)
    with app.connection_for_write() as connection:
        connection.default_channel.client.flushall()
    yield broker_server.url
    _use_broker(before)


def _use_broker(url: str) -> None:
    app.conf.broker_url = url
    # The app keeps its connections, which lead to the broker of before; this is how it
    # forgets them in a new process.
    pools.reset()
    app._after_fork()


@pytest.fixture
def workers(
    monkeypatch: pytest.MonkeyPatch, django_capture_on_commit_callbacks: Any
) -> Callable[..., Any]:
    """workers(act, *args, **kwargs): act, and then what workers are called for by the
    end of its transaction, in this process. Mail waits until the test sends it."""

    def call(task: str, *args: Any, **_options: Any) -> None:
        if task != SEND:
            app.tasks[task](*args)

    app.loader.import_default_modules()  # as a worker does when it starts
    monkeypatch.setattr("maintenance.households.workers.call_worker", call)

    def run(act: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
        # A transaction of its own: what the one before asked for was done.
        transaction.get_connection().run_on_commit.clear()
        with django_capture_on_commit_callbacks(execute=True):
            return act(*args, **kwargs)

    return run


@pytest.fixture
def smtp(settings: Any) -> Iterator[mail_server.MailServer]:
    """A running mail server that this test's mail goes to (`mailoutbox` is the box
    without one)."""
    with mail_server.mail_server() as server:
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", server.port
        settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
        settings.MAIL_SERVER_SET = True
        yield server
