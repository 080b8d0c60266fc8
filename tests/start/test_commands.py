"""manage.py itself: what it hands over to pytest, what it says when it cannot."""

import os
import shutil
import subprocess
import sys

import pytest

from rigsite.paths import CHECKOUT
from rigsite.testrun import for_pytest

SERVER_ONLY = "not whole_program and not either_database"


BY_FILE = ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"]


@pytest.mark.parametrize(
    ("mode", "given", "handed"),
    [
        ("", [], BY_FILE),
        ("", ["-k", "oil"], [*BY_FILE, "-k", "oil"]),
        ("", ["-n0", "tests/core"], ["-n0", "tests/core"]),
        (
            "--postgres",
            ["-n", "1"],
            ["-m", SERVER_ONLY, "--ignore", "tests/core", "-n", "1"],
        ),
        ("--browser", ["-n0", "-x"], ["tests/browser", "-n0", "-x"]),
    ],
)
def test_test_command_when_given_arguments_then_they_go_to_pytest(mode, given, handed):
    assert for_pytest(mode, given) == handed


def test_tests_when_run_on_postgresql_then_those_that_need_no_database_are_left_out():
    """Without a server: what is only collected reaches none."""
    address = "postgres://nobody@127.0.0.1:1/none"
    options = ["--collect-only", "-q", "-n0"]
    files = ["tests/start/test_middleware.py", "tests/upgrade/test_opening.py"]

    done = subprocess.run(
        [sys.executable, "-m", "pytest", *options, *files],
        cwd=CHECKOUT,
        env=os.environ | {"DATABASE_URL": address},
        capture_output=True,
        text=True,
        check=False,
    )

    assert "test_request_when_from_a_member" in done.stdout  # by its mark
    assert "test_old_data_when_opened" in done.stdout  # by a fixture
    assert "test_request_when_from_nobody" not in done.stdout
    assert "3 tests and all of tests/core need no database: " in done.stdout


def manage(folder, *arguments):
    python = getattr(sys, "_base_executable", sys.executable)
    return subprocess.run(
        [python, folder / "manage.py", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def bare_checkout(tmp_path):
    """A checkout in which nothing was installed yet."""
    shutil.copy(CHECKOUT / "manage.py", tmp_path)
    shutil.copytree(CHECKOUT / "rigsite", tmp_path / "rigsite")
    (tmp_path / "maintenance").mkdir()
    for name in ("__init__.py", "disk.py"):  # what runs before anything is installed
        shutil.copy(CHECKOUT / "maintenance" / name, tmp_path / "maintenance")
    return tmp_path


def test_command_when_nothing_is_installed_then_it_names_the_two_commands(
    bare_checkout,
):
    done = manage(bare_checkout, "reckon", "case.json")

    assert done.returncode == 1
    assert done.stderr.startswith("Nothing is installed yet.")
    assert "python3 manage.py start" in done.stderr


def test_command_when_the_environment_is_half_made_then_one_line(bare_checkout):
    environment = [
        sys.executable,
        "-m",
        "venv",
        "--without-pip",
        bare_checkout / ".venv",
    ]
    subprocess.run(environment, check=True)

    done = manage(bare_checkout, "check")

    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "is not complete" in done.stderr


def test_command_when_run_with_the_system_s_python_then_inside_the_environment():
    done = manage(CHECKOUT, "check")

    assert (done.returncode, done.stderr) == (0, "")
    assert "no issues" in done.stdout
