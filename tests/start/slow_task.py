"""A task for the tests that kill a worker: it tells when it begins and when it ends."""

import os
import time
from pathlib import Path

from celery import shared_task


@shared_task(name="tests.slow")
def slow(path: str, seconds: float) -> None:
    with Path(path).open("a") as file:
        file.write(f"begin {os.getpid()}\n")
    time.sleep(seconds)
    with Path(path).open("a") as file:
        file.write("end\n")
