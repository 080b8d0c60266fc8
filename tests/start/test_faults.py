"""The table of faults, and a month with kills, as they are run by hand: real processes
on a database of their own."""

import os
import re
import subprocess
import sys

import pytest

from rigsite.paths import CHECKOUT
from tests.servers import PATIENCE

pytestmark = pytest.mark.whole_program


@pytest.fixture
def database(migrated, tmp_path) -> str:
    return str(migrated(tmp_path) / "rigsite.db")


def run(*arguments: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", *arguments],
        cwd=CHECKOUT,
        env=dict(os.environ),
        capture_output=True,
        text=True,
        timeout=10 * PATIENCE,
        check=False,
    )


def test_faults_when_each_strikes_then_nothing_is_lost_or_doubled(database):
    done = run("tests.faults", "--on", "processes", "--database", database)

    rows = [line for line in done.stdout.splitlines() if line[:4] in ("ok  ", "BAD ")]
    assert [row for row in rows if row.startswith("BAD")] == []
    assert (done.returncode, len(rows)) == (0, 13), done.stdout + done.stderr


def test_month_when_killed_at_random_then_each_day_has_its_one_digest(database):
    options = ["--runs", "10", "--days", "4", "--database", database]
    done = run("tests.faults.month", *options)

    assert done.returncode == 0, done.stdout + done.stderr
    found = dict(re.findall(r"^(.*?)\s+(\d+)$", done.stdout, re.MULTILINE))
    assert found["digests"] == str(10 * 2 * 4)
    assert int(found["kills"]) >= 10  # each month has its own
