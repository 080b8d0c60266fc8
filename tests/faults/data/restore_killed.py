"""The command `restore` killed at set points: the real process, by the signal that
nothing can catch. The next start leaves the old, or brings the new to its end."""

import shutil
import signal
import subprocess
import sys
from pathlib import Path

from django.utils import timezone

from rigsite.backup.making import make_backup
from rigsite.backup.restoring import finish_switch
from rigsite.backup.switching import MARK
from rigsite.paths import CHECKOUT
from tests.builders import make_household
from tests.faults.place import NAME, Place, files, households
from tests.faults.table import data_fault

LATER = "Birch Street"

# Python tells a hook of each file that is about to be opened or renamed.
KILLED = """
import os, runpy, signal, sys
event, end = sys.argv[1:3]
def hook(told, about):
    if told == event and str(about[about_of[event]]).endswith(end):
        os.kill(os.getpid(), signal.SIGKILL)
about_of = {"open": 0, "os.rename": 1}
sys.argv = ["manage.py", *sys.argv[3:]]
sys.addaudithook(hook)
runpy.run_path("manage.py", run_name="__main__")
"""


@data_fault("restore killed")
def restore_killed(place: Place) -> str:
    with place.in_use():
        made = make_backup(place.room, now=timezone.now())
        stored = files(place.data)
        make_household(name=LATER)
    shutil.copytree(place.data, place.room / "before")
    old, new = [NAME, LATER], [NAME]
    points = (
        ("open", "/database.sqlite3", old, "as it is unpacked"),
        ("os.rename", f"/{MARK}", old, "before its mark stands"),
        ("os.rename", f"{place.data}/files", new, "between database and files"),
    )
    for event, end, expected, when in points:
        shutil.rmtree(place.data)
        shutil.copytree(place.room / "before", place.data)
        _restore_until(place, made, event, end)
        with place.in_use():
            assert finish_switch() == (expected == new), when
        assert (households(place.data), files(place.data)) == (expected, stored), when
        assert not list(place.data.glob(".restore-*")), when
        assert not (place.data / MARK).exists(), when
    return "at 3 points: the old before its mark stood, the new after the next start"


def _restore_until(place: Place, made: Path, event: str, end: str) -> None:
    done = _run(place, "-c", KILLED, event, end, "restore", made, "--replace")
    assert done.returncode == -signal.SIGKILL, (event, end, done.stderr)


def _run(place: Place, *arguments: str | Path) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=CHECKOUT,
        env=place.environment(place.data),
        capture_output=True,
        text=True,
        check=False,
    )
