"""Makes the virtual environment and fills it from requirements.txt. Standard library
only."""

import contextlib
import fcntl
import hashlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from rigsite.console import Stop, say
from rigsite.paths import CHECKOUT, environment_python, virtual_environment

REQUIREMENTS = CHECKOUT / "requirements.txt"
MARK = "# --- tests and checks"
OFFLINE = (
    "NewConnectionError",
    "Temporary failure in name resolution",
    "Name or service not known",
    "Network is unreachable",
    "ConnectTimeoutError",
    "ProxyError",
)


def pins(text: str, *, tests: bool) -> list[str]:
    """The requirements above the mark; with `tests`, those below it too."""
    wanted = text if tests else text.partition(MARK)[0]
    lines = (line.partition(" #")[0].strip() for line in wanted.splitlines())
    return [line for line in lines if line and not line.startswith("#")]


def stamp_for(text: str, *, tests: bool) -> str:
    """What the finished environment is stamped with. A new bug-fix release of Python
    keeps the environment usable, a new minor release does not."""
    major, minor = sys.version_info[:2]
    digest = hashlib.sha256("\n".join(pins(text, tests=tests)).encode()).hexdigest()
    return f"{major}.{minor} {'tests' if tests else 'run'} {digest}"


@contextlib.contextmanager
def one_at_a_time() -> Iterator[None]:
    """Two commands that start at once must not fill one environment together. The
    lock is on requirements.txt itself: it needs no file more."""
    with REQUIREMENTS.open() as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


def provide(log: Path, *, tests: bool) -> None:
    """Make the environment complete, or raise Stop with one line. Its stamp is written
    last, so that a half-made environment is told from a finished one."""
    text = REQUIREMENTS.read_text()
    with one_at_a_time():
        stamped = _stamp()
        if stamped and stamped in (
            stamp_for(text, tests=tests),
            stamp_for(text, tests=True),
        ):
            return
        # An environment for the tests stays one.
        tests = tests or " tests " in stamped
        if not stamped.startswith("{}.{} ".format(*sys.version_info[:2])):
            _make()
        _fill(pins(text, tests=tests), log)
        # After a power cut a stamp must not stand on packages that are not there.
        os.sync()
        _stamp_file().write_text(stamp_for(text, tests=tests))


def _stamp_file() -> Path:
    return virtual_environment() / "rigsite-stamp"


def _stamp() -> str:
    """The stamp of an environment that still runs, else nothing."""
    try:
        stamped = _stamp_file().read_text()
        subprocess.run([environment_python(), "-c", ""], check=True)
    except (OSError, subprocess.CalledProcessError):
        return ""
    return stamped


def _make() -> None:
    folder = virtual_environment()
    if folder.exists():
        say(f"{folder} is incomplete or for another Python. Making it again.")
    else:
        say(f"Making the virtual environment {folder}.")
    # Not sys.executable, which may lie in the very environment that is cleared.
    python = getattr(sys, "_base_executable", sys.executable)
    made = subprocess.run(
        [python, "-m", "venv", "--clear", folder],
        capture_output=True,
        text=True,
        check=False,
    )
    if made.returncode:
        reason = (made.stdout + made.stderr).strip().splitlines()[-1:]
        raise Stop(f"The virtual environment couldn't be made: {' '.join(reason)}")


def _fill(wanted: list[str], log: Path) -> None:
    say(f"Downloading {len(wanted)} packages (once; half a minute or more).")
    _pip(wanted, log)


def _pip(arguments: list[str], log: Path) -> None:
    command = [str(environment_python()), "-m", "pip", "install", "--no-input"]
    quiet = ["--disable-pip-version-check", "--no-color", "--retries", "2"]
    done = subprocess.run(
        [*command, *quiet, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    if not done.returncode:
        return
    log.write_text(done.stdout)
    if any(sign in done.stdout for sign in OFFLINE):
        raise Stop(
            "The packages couldn't be downloaded: no connection to the "
            "package server. Connect this computer to the internet and try "
            "again."
        )
    reason = next(
        (line for line in done.stdout.splitlines() if line.startswith("ERROR:")), ""
    )
    raise Stop(f"The packages couldn't be installed. {reason} (full log: {log})")
