"""Runs the whole program as a user does: `python3 manage.py start` in a terminal."""

import contextlib
import fcntl
import http.client
import os
import pty
import select
import signal
import subprocess
import sys
import termios
from collections.abc import Iterator
from pathlib import Path

from rigsite.paths import CHECKOUT
from tests.servers import PATIENCE, free_port, wait_for


def command(*arguments: str) -> list[str | Path]:
    # Not the environment's Python: a user has none yet.
    python = getattr(sys, "_base_executable", sys.executable)
    return [python, CHECKOUT / "manage.py", *arguments]


def environment(data: Path) -> dict[str, str]:
    ours = {"REDIS_URL", "DATABASE_URL", "DJANGO_SETTINGS_MODULE"}
    kept = {name: value for name, value in os.environ.items() if name not in ours}
    return kept | {"RIGSITE_DATA": str(data)}


def run(data: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    """A start that is expected to end by itself."""
    return subprocess.run(
        command("start", *arguments),
        env=environment(data),
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )


class Program:
    """A start in a terminal of its own (so that Ctrl-C and closing it are real)."""

    def __init__(self, data: Path, *arguments: str) -> None:
        self.data, self.port, self.text = data, free_port(), ""
        self.terminal, inner = pty.openpty()

        def take_terminal() -> None:
            fcntl.ioctl(inner, termios.TIOCSCTTY, 0)

        self.process = subprocess.Popen(
            command("start", "--port", str(self.port), *arguments),
            env=environment(data),
            stdin=inner,
            stdout=inner,
            stderr=inner,
            start_new_session=True,
            preexec_fn=take_terminal,  # noqa: PLW1509  (nothing else forks here)
        )
        os.close(inner)

    def says(self, words: str) -> bool:
        """Whether it has said so by now."""
        while select.select([self.terminal], [], [], 0)[0]:
            try:
                self.text += os.read(self.terminal, 4096).decode()
            except OSError:  # nobody has the other end open any more
                break
        return words in self.text

    def wait_until_says(self, words: str) -> None:
        wait_for(
            lambda: self.says(words) or self.process.poll() is not None,
            what=words,
        )
        assert words in self.text, self.text

    def get(self, path: str) -> tuple[int, str]:
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        with contextlib.closing(link):
            link.request("GET", path)
            answer = link.getresponse()
            return answer.status, answer.read().decode()

    def press_ctrl_c(self) -> None:
        os.write(self.terminal, b"\x03")

    def close_terminal(self) -> None:
        os.close(self.terminal)
        self.terminal = -1

    def left_behind(self) -> list[str]:
        """The command lines of its processes that are still there."""
        return [line for pid, line in processes_of(self.data) if pid]

    def end(self) -> None:
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.terminate()
            self.process.wait(PATIENCE)
        for pid, _ in processes_of(self.data):
            os.kill(pid, signal.SIGKILL)
        if self.terminal >= 0:
            os.close(self.terminal)


def processes_of(data: Path) -> list[tuple[int, str]]:
    """Processes that were given this data folder, by environment or command line (the
    broker overwrites its environment)."""
    found = []
    for entry in Path("/proc").iterdir():
        with contextlib.suppress(OSError):
            if not entry.name.isdecimal() or int(entry.name) == os.getpid():
                continue
            line = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode()
            told = (entry / "environ").read_bytes()
            if os.fsencode(data) in told or str(data) in line:
                found.append((int(entry.name), line))
    return found


@contextlib.contextmanager
def running(data: Path, *arguments: str) -> Iterator[Program]:
    program = Program(data, *arguments)
    try:
        program.wait_until_says("Running: ")
        yield program
    finally:
        program.end()


def memory_of(data: Path) -> int:
    """MB that its processes take together; what they share is counted once (the
    kernel's proportional set size)."""
    total = 0
    for pid, _ in processes_of(data):
        sizes = Path(f"/proc/{pid}/smaps_rollup").read_text()
        total += int(sizes.partition("Pss:")[2].split()[0])
    return total // 1024


def wait_until_nothing_is_left(program: Program) -> None:
    """The kernel ends a child a moment after its parent has gone."""
    program.process.wait(PATIENCE)
    wait_for(lambda: not program.left_behind(), what="end of all its processes")
