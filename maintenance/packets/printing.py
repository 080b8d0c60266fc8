"""Prints a page in a process of its own: watched, limited in time, stoppable."""

import os
import re
import selectors
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from maintenance.disk import put_file

PROGRAM = (sys.executable, "-m", "maintenance.packets.pdf")
CHECKOUT = Path(__file__).resolve().parent.parent.parent
# What the program needs of its surroundings. Addresses and secrets it need not know.
PASSED_ON = ("PATH", "HOME", "LANG", "LC_ALL", "TMPDIR", "XDG_CACHE_HOME")
LINE = re.compile(rb"progress (\w+) ?(\d*)")
LISTEN = 1.0  # seconds between two words, also while there is no progress
KEPT_OF_ERRORS = 4000


class PrintFailed(Exception):
    """The program ended with an error; the text is its last words, for the log."""


class PrintTooLong(Exception):
    """It took longer than allowed and was ended."""


class PrintStopped(Exception):
    """`tell` said that nobody wants it any more."""


@dataclass(frozen=True, slots=True)
class Progress:
    """`word` is `page`, `writing` or `pages`; empty when only time has passed."""

    word: str = ""
    number: int = 0


def print_pdf(
    html: str,
    out: Path,
    *,
    seconds: float,
    tell: Callable[[Progress], bool],
    program: tuple[str, ...] = PROGRAM,
) -> int:
    """Print `html` to the file `out`; how many pages it has.

    `tell` hears of the progress at least once a second and answers whether to go on.
    The file appears whole or not at all.
    """
    with tempfile.TemporaryFile() as page, tempfile.TemporaryFile() as pdf:
        page.write(html.encode())
        page.seek(0)
        process = subprocess.Popen(  # noqa: S603 - our own program, no shell
            program,
            cwd=CHECKOUT,
            env={name: os.environ[name] for name in PASSED_ON if name in os.environ},
            stdin=page,
            stdout=pdf,
            stderr=subprocess.PIPE,
            start_new_session=True,
        )
        try:
            pages = _watch(process, time.monotonic() + seconds, tell)
        finally:
            process.kill()
            process.wait()
            process.stderr.close()  # type: ignore[union-attr]
        pdf.seek(0)
        put_file(out, pdf.read())
    return pages


def _watch(
    process: "subprocess.Popen[bytes]",
    until: float,
    tell: Callable[[Progress], bool],
) -> int:
    pages, errors = 0, b""
    for line in _lines(process, until):
        found = LINE.fullmatch(line)
        progress = Progress()
        if found:
            progress = Progress(found[1].decode(), int(found[2] or 0))
        elif line:
            errors = (errors + line + b"\n")[-KEPT_OF_ERRORS:]
        if progress.word == "pages":
            pages = progress.number
        if not tell(progress):
            raise PrintStopped
    if process.wait() != 0 or not pages:
        last_words = errors.decode(errors="replace")
        raise PrintFailed(f"exit code {process.returncode}\n{last_words}".strip())
    return pages


def _lines(process: "subprocess.Popen[bytes]", until: float) -> Iterator[bytes]:
    """Lines of standard error until it closes; an empty one when a second is quiet."""
    pipe = process.stderr
    assert pipe is not None  # noqa: S101 - for the type checker
    left = b""
    with selectors.DefaultSelector() as selector:
        selector.register(pipe, selectors.EVENT_READ)
        while True:
            if time.monotonic() > until:
                raise PrintTooLong
            if not selector.select(LISTEN):
                yield b""
                continue
            chunk = os.read(pipe.fileno(), 65536)
            *lines, left = (left + chunk).split(b"\n")
            yield from lines
            if not chunk:
                return
