"""Real servers for the tests, on loopback or a socket of their own, ended with the
test. Standard library only: `manage.py test --postgres` uses them too."""

import contextlib
import os
import pwd
import random
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from rigsite.children import spawn
from rigsite.processes import answers, broker_program
from rigsite.system import program


@dataclass
class Broker:
    """A server that speaks the Redis protocol."""

    url: str
    process: "subprocess.Popen[bytes]"


# Below those that the kernel hands to whoever asks for none, connections on their way
# out among them: such a port may be gone before the server it is for has started.
PORTS = range(20000, 32000)
_CHANCE = random.SystemRandom()  # not the one that every process of a run seeds alike


def free_port() -> int:
    for port in _CHANCE.sample(PORTS, 100):
        with contextlib.suppress(OSError), socket.socket() as probe:
            probe.bind(("127.0.0.1", port))
            return port
    raise RuntimeError(f"no port is free from {PORTS.start} to {PORTS.stop}")


# Seconds until a test gives up on what never comes. A busy machine may need most of
# them, so nothing is proven by how long it took.
PATIENCE = 300


def wait_for(
    true: Callable[[], object], *, what: str, seconds: float = PATIENCE
) -> None:
    until = time.monotonic() + seconds
    while not true():
        if time.monotonic() > until:
            raise TimeoutError(f"{what}: not within {seconds} s")
        time.sleep(0.05)


@contextlib.contextmanager
def redis(folder: Path) -> Iterator[Broker]:
    """Debian's Redis, as a household with a server of its own would use."""
    found = program("redis-server")
    if found is None:
        raise RuntimeError(
            "redis-server is missing; `manage.py test --postgres` has it"
        )
    with _broker(found, folder) as started:
        yield started


@contextlib.contextmanager
def valkey(folder: Path) -> Iterator[Broker]:
    """The Valkey that `start` runs."""
    with _broker(broker_program(), folder) as started:
        yield started


@contextlib.contextmanager
def _broker(executable: str, folder: Path) -> Iterator[Broker]:
    path = folder / "broker.sock"
    command = [executable, "--port", "0", "--unixsocket", str(path), "--save", ""]
    process = spawn(
        [*command, "--dir", str(folder)],
        env=dict(os.environ),
        output=subprocess.DEVNULL,
    )
    try:
        wait_for(lambda: answers(path), what=executable)
        yield Broker(f"redis+socket://{path}?virtual_host=0", process)
    finally:
        process.terminate()
        process.wait(PATIENCE)


@contextlib.contextmanager
def postgresql(folder: Path) -> Iterator[str]:
    """A cluster of its own on loopback; the address of its database."""
    port = str(free_port())
    home = folder / "postgresql"
    home.mkdir()
    user = _unprivileged_user(home, folder)
    _run("initdb", "-D", home, "-U", "rigsite", "--auth=trust", "-E", "UTF8", user=user)
    # What must survive a crash of the machine does not matter for a test.
    options = ["-F", "-c", "full_page_writes=off", "-c", "synchronous_commit=off"]
    where = ["-D", str(home), "-p", port, "-h", "127.0.0.1", "-k", str(home)]
    process = spawn(
        [_found("postgres"), *where, *options],
        env=dict(os.environ),
        output=subprocess.DEVNULL,
        parent_death_signal=signal.SIGQUIT,
        user=user,
    )
    ready = [_found("pg_isready"), "-q", "-h", "127.0.0.1", "-p", port]
    try:
        wait_for(
            lambda: subprocess.run(ready, check=False).returncode == 0,
            what="PostgreSQL",
        )
        yield f"postgres://rigsite@127.0.0.1:{port}/postgres"
    finally:
        process.send_signal(signal.SIGQUIT)
        process.wait(PATIENCE)
        shutil.rmtree(home, ignore_errors=True)


def _unprivileged_user(home: Path, folder: Path) -> str | None:
    """PostgreSQL refuses to run as root, so root lends it another user."""
    if os.getuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    user = "postgres" if "postgres" in names else "nobody"
    shutil.chown(home, user)
    for parent in (folder, *folder.parents):
        if parent.stat().st_uid == 0 and not parent.stat().st_mode & 0o001:
            parent.chmod(parent.stat().st_mode | 0o011)
    return user


def _found(name: str) -> str:
    executable = program(name)
    if executable is None:
        raise RuntimeError(f"{name} is missing; `manage.py test --postgres` has it")
    return executable


def _run(name: str, *arguments: str | Path, user: str | None) -> None:
    subprocess.run(
        [_found(name), *arguments],
        check=True,
        cwd="/",
        user=user,
        extra_groups=[] if user else None,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
