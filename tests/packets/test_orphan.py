"""A print whose worker was killed does not go on by itself."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

from maintenance.packets.printing import PROGRAM

PARENT = """
import subprocess, sys, time
with open(sys.argv[1], "rb") as page:
    print(subprocess.Popen(
        sys.argv[2:], stdin=page, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL, start_new_session=True,
    ).pid, flush=True)
time.sleep(60)
"""


def is_running(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


def test_print_ends_when_its_worker_is_killed(tmp_path):
    page = tmp_path / "page.html"
    page.write_text("<html lang=en><title>x</title>" + "<p>a line</p>" * 60_000)
    worker = subprocess.Popen(
        [sys.executable, "-c", PARENT, page, *PROGRAM],
        stdout=subprocess.PIPE,
        text=True,
    )
    with worker:
        assert worker.stdout is not None
        printing = int(worker.stdout.readline())
        time.sleep(2)  # it has read the page and is laying it out
        assert is_running(printing)

        os.kill(worker.pid, signal.SIGKILL)

        until = time.monotonic() + 5
        while is_running(printing) and time.monotonic() < until:
            time.sleep(0.1)
    assert not is_running(printing)
