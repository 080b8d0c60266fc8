"""The processes that belong together: started in order, restarted if one dies, stopped
in order, and none left behind. Standard library only."""

import contextlib
import ctypes
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from rigsite.console import Stop, say
from rigsite.paths import CHECKOUT

PR_SET_PDEATHSIG = 1  # <linux/prctl.h>
LIBC = ctypes.CDLL(None) if sys.platform == "linux" else None

MOST_RESTARTS = 3
FORGIVEN_AFTER = 600  # seconds


def die_with_parent(number: int = signal.SIGKILL) -> None:
    """Ask the kernel for this signal when the parent ends, however it ends (Linux)."""
    if LIBC:
        LIBC.prctl(PR_SET_PDEATHSIG, number)


def spawn(
    command: list[str | Path],
    *,
    env: dict[str, str],
    output: IO[bytes] | int,
    parent_death_signal: int = signal.SIGTERM,
    user: str | None = None,
) -> "subprocess.Popen[bytes]":
    """A process in a session of its own: Ctrl-C reaches only us, who know the order in
    which to stop. If we are killed, the kernel sends it the signal."""
    parent = os.getpid()

    def on_birth() -> None:
        die_with_parent(parent_death_signal)
        if os.getppid() != parent:
            os._exit(1)

    return subprocess.Popen(
        command,
        cwd=CHECKOUT,
        env=env,
        stdin=subprocess.DEVNULL,
        stdout=output,
        stderr=subprocess.STDOUT,
        start_new_session=True,
        user=user,
        extra_groups=[] if user else None,
        preexec_fn=on_birth,  # noqa: PLW1509  (one thread only)
    )


@dataclass
class Child:
    name: str
    command: list[str | Path]
    env: dict[str, str]
    patience: float  # seconds it may take to stop
    parent_death_signal: int = signal.SIGTERM
    most_restarts: int = MOST_RESTARTS
    process: "subprocess.Popen[bytes] | None" = None
    deaths: list[float] = field(default_factory=list)

    def start(self, output: IO[bytes]) -> None:
        self.process = spawn(
            self.command,
            env=self.env,
            output=output,
            parent_death_signal=self.parent_death_signal,
        )

    @property
    def dead(self) -> bool:
        return self.process is not None and self.process.poll() is not None

    def stop(self) -> None:
        """Ask, wait, then kill what is left of its session."""
        if self.process is None:
            return
        with contextlib.suppress(ProcessLookupError, subprocess.TimeoutExpired):
            self.process.terminate()
            self.process.wait(self.patience)
        self.kill()

    def kill(self) -> None:
        if self.process is None:
            return
        # Its own children may outlive it; they share its session.
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


class Supervisor:
    """All children, in the order in which they start."""

    def __init__(self, log: Path) -> None:
        self.log = log
        self.output: IO[bytes] = log.open("ab", buffering=0)
        self.children: list[Child] = []

    def start(self, child: Child) -> None:
        self.children.append(child)
        child.start(self.output)

    def look_after(self) -> None:
        """Restart who died; Stop if one keeps dying."""
        now = time.monotonic()
        for child in self.children:
            if not child.dead:
                continue
            child.kill()
            child.deaths = [at for at in child.deaths if now - at < FORGIVEN_AFTER]
            if len(child.deaths) >= child.most_restarts:
                raise Stop(
                    f"The {child.name} keeps stopping. See {self.log} for the reason."
                )
            child.deaths.append(now)
            say(f"The {child.name} stopped unexpectedly; starting it again.")
            child.start(self.output)

    def shorten_log(self, limit: int) -> None:
        """Keep one older log. The children go on writing into the same file, at its
        end, so it is emptied, not moved."""
        if self.log.stat().st_size > limit:
            shutil.copyfile(self.log, self.log.with_suffix(".log.1"))
            os.truncate(self.log, 0)

    def stop(self) -> None:
        """In the order web server, beat, worker, broker: the worker can still finish
        and acknowledge its task."""
        for child in reversed(self.children):
            child.stop()

    def kill(self) -> None:
        for child in reversed(self.children):
            child.kill()
