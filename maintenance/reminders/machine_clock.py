"""What this machine says of its clock: since when it runs, and whether the network sets
its clock right. Nothing is known for sure on every system; what is not is left out."""

import ctypes
import platform
import socket
import time
from datetime import datetime
from pathlib import Path

from maintenance.core.clock import Look

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
UPTIME = Path("/proc/uptime")  # counts the time asleep, too

# <sys/timex.h> of Linux on 64 bits: its size, where the seconds of its time lie, and
# the answer that nobody keeps the clock right.
TIMEX_SIZE, TIMEX_SECONDS, TIME_ERROR = 208, 72, 5


def machine() -> str:
    return socket.gethostname()[:100]


def look(at: datetime) -> Look:
    """The clock as it stands; `at` is what it shows."""
    try:
        boot = BOOT_ID.read_text().strip()
        up = float(UPTIME.read_text().split()[0])
    except (OSError, ValueError, IndexError):
        return Look(at, "", 0.0)
    # A Linux inside Windows does not count while Windows sleeps.
    return Look(at, "" if "microsoft" in platform.release().lower() else boot, up)


def is_set_by_network() -> bool:
    """Whether the kernel says that its clock is kept right (NTP), and it is the clock
    that this process sees."""
    if platform.system() != "Linux" or ctypes.sizeof(ctypes.c_long) != 8:
        return False
    told = ctypes.create_string_buffer(TIMEX_SIZE)
    answer = ctypes.CDLL(None).adjtimex(told)
    if answer < 0 or answer == TIME_ERROR:
        return False
    seconds = ctypes.c_long.from_buffer(told, TIMEX_SECONDS).value
    return abs(seconds - time.time()) < 60
