"""Old and newer data met by the program's own commands, each in a process."""

import io
import os
import sqlite3
import subprocess
import tarfile

import pytest

from rigsite import start
from rigsite.paths import CHECKOUT, environment_python
from tests.upgrade.conftest import FIRST

pytestmark = pytest.mark.whole_program


@pytest.fixture
def data(tmp_path):
    with tarfile.open(FIRST / "data.tar.xz") as packed:
        packed.extractall(tmp_path, filter="data")
    return tmp_path / "data"


def run(data, *command):
    env = os.environ | {"RIGSITE_DATA": str(data), "LOG_LEVEL": "WARNING"}
    return subprocess.run(
        [environment_python(), *command],
        cwd=CHECKOUT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )


def change(data, *statements):
    with sqlite3.connect(data / "rigsite.db") as database:
        for statement in statements:
            database.execute(statement)
    database.close()


def test_prepare_when_data_is_old_then_it_says_where_the_copy_is(data):
    change(
        data,
        "DROP TABLE bench_keptfigure",
        "DELETE FROM django_migrations WHERE app = 'bench'",
    )

    done = run(data, "-m", "rigsite.prepare")

    [copy] = (data / "before-upgrade").iterdir()
    assert done.returncode == 0, done.stderr
    words = f"Upgrade: The database was copied to {copy} before it was upgraded."
    assert words in done.stdout.splitlines()


def test_prepare_when_data_cannot_be_upgraded_then_its_last_line_says_what_to_do(data):
    # The table is there already: making it fails.
    change(data, "DELETE FROM django_migrations WHERE app = 'bench'")

    done = run(data, "-m", "rigsite.prepare")

    assert done.returncode == 1
    assert "Traceback" in done.stderr  # for the log
    assert done.stderr.splitlines()[-1] == (
        "The upgrade of the database failed at bench.0001_kept_figures (table"
        ' "bench_keptfigure" already exists). Your data is unchanged. Start your'
        " earlier version, and report this one."
    )


@pytest.mark.parametrize(
    "command",
    [
        ["-m", "rigsite.prepare"],
        ["manage.py", "recheck"],
        ["manage.py", "migrate"],
        ["manage.py", "backup"],
    ],
)
def test_command_when_data_is_newer_then_one_sentence_and_nothing_done(data, command):
    change(
        data,
        "INSERT INTO django_migrations (app, name, applied)"
        " VALUES ('findings', '0001_of_the_future', '2027-01-01')",
    )

    done = run(data, *command)

    assert done.returncode == 1
    assert done.stderr.startswith("A newer version of Rigsite has used this data")
    assert done.stderr.count("\n") == 1
    assert not (data / "backups").exists()


def test_restore_when_data_is_newer_then_still_possible(migrated, tmp_path):
    data = migrated(tmp_path)
    kept = run(data, "manage.py", "backup", tmp_path / "kept")
    assert kept.returncode == 0, kept.stderr
    [backup] = (tmp_path / "kept").iterdir()
    change(
        data,
        "INSERT INTO django_migrations (app, name, applied)"
        " VALUES ('findings', '0001_of_the_future', '2027-01-01')",
    )

    done = run(data, "manage.py", "restore", backup, "--replace")

    assert done.returncode == 0, done.stderr
    assert run(data, "manage.py", "recheck").returncode == 0


def test_start_when_the_database_was_upgraded_then_said_and_in_the_log(
    monkeypatch, capsys
):
    words = "System check\nUpgrade: The database was copied to x."
    monkeypatch.setattr(start, "_run_task", lambda *_: words)
    log = io.BytesIO()

    start.prepare({}, log)

    assert capsys.readouterr().out.splitlines() == [
        "Preparing the database.",
        "Upgrade: The database was copied to x.",
    ]
    assert log.getvalue() == b"Upgrade: The database was copied to x.\n"
