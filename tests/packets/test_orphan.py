"""A print whose worker was killed does not go on by itself."""

import os
import signal
import subprocess
import sys
from pathlib import Path

from maintenance.packets.printing import PROGRAM
from tests.servers import wait_for

PARENT = """
import subprocess, sys, time
page, out, said, *program = sys.argv[1:]
print(subprocess.Popen(
    program, stdin=open(page, "rb"), stdout=open(out, "wb"), stderr=open(said, "wb"),
    start_new_session=True,
).pid, flush=True)
while True:
    time.sleep(60)
"""


def is_running(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


def test_print_ends_when_its_worker_is_killed(tmp_path):
    page, out, said = (tmp_path / name for name in ("page.html", "pdf", "said"))
    page.write_text("<html lang=en><title>x</title>" + "<p>a line</p>" * 60_000)
    worker = subprocess.Popen(
        [sys.executable, "-c", PARENT, page, out, said, *PROGRAM],
        stdout=subprocess.PIPE,
        text=True,
    )
    with worker:
        assert worker.stdout is not None
        printing = int(worker.stdout.readline())
        wait_for(said.exists, what="its birth")
        wait_for(lambda: b"progress page" in said.read_bytes(), what="its first page")

        os.kill(worker.pid, signal.SIGKILL)

        wait_for(lambda: not is_running(printing), what="end of the print")
    assert out.read_bytes() == b""  # it did not end by being done
