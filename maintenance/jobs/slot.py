"""Heavy work inside a request: one at a time on a machine, and others wait a moment
only, so that the pages of everybody else go on. What takes longer is a long job."""

import contextlib
import fcntl
import time
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from maintenance.disk import make_folder
from maintenance.households.refusals import Refused

PATIENCE = 4.0  # seconds
LOOK_EVERY = 0.1
BUSY = "Another file is being read right now. Try again in a minute."


@contextlib.contextmanager
def one_at_a_time(name: str, *, patience: float = PATIENCE) -> Iterator[None]:
    """Refused when somebody else does not get done in time."""
    with slot(Path(settings.DATA) / "slots" / name, patience=patience) as ours:
        if not ours:
            raise Refused(BUSY)
        yield


@contextlib.contextmanager
def slot(file: Path, *, patience: float = 0.0) -> Iterator[bool]:
    """Whether it is ours within so many seconds. The lock goes with the process, so
    none is left behind."""
    make_folder(file.parent)
    with file.open("w") as lock:
        until = time.monotonic() + patience
        while not _taken(lock.fileno()):
            if time.monotonic() >= until:
                yield False
                return
            time.sleep(LOOK_EVERY)
        yield True


def _taken(handle: int) -> bool:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
