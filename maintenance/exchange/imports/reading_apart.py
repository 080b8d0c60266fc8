"""Reads a workbook in a process of its own, bounded in time and memory: whatever a file
is made to do, a page waits for some seconds at most.

As a program it reads a workbook from standard input and writes the table, or exits with
`REFUSED` and the reason in words.
"""

import os
import resource
import subprocess
import sys
from pathlib import Path

from maintenance.core.tables import Table, TableError

from .kept_table import table_in, text_of

SECONDS = 20  # 50,000 rows of a log take five
MEMORY = 2_000_000_000  # bytes of address space
REFUSED = 3
PROGRAM = (sys.executable, "-m", "maintenance.exchange.imports.reading_apart")
CHECKOUT = Path(__file__).resolve().parents[3]
# What it needs of its surroundings. Addresses and secrets it need not know.
PASSED_ON = ("PATH", "HOME", "LANG", "LC_ALL", "TMPDIR")
TOO_LONG = (
    "This workbook takes too long to read. Copy the rows into a new one, or save it as "
    "CSV."
)


def is_workbook(data: bytes) -> bool:
    return data.startswith(b"PK\x03\x04")


def read_workbook_apart(
    data: bytes, *, seconds: float = SECONDS, program: tuple[str, ...] = PROGRAM
) -> Table:
    env = {name: os.environ[name] for name in PASSED_ON if name in os.environ}
    try:
        done = subprocess.run(  # noqa: S603 - our own program, no shell
            program,
            input=data,
            capture_output=True,
            cwd=CHECKOUT,
            # Its library would start a thread for each core, and take memory for it.
            env=env | {"OPENBLAS_NUM_THREADS": "1"},
            timeout=seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise TableError(TOO_LONG) from None
    words = done.stdout.decode(errors="replace")
    if done.returncode == REFUSED:
        raise TableError(words)
    if done.returncode:  # the kernel ended it, or its memory did
        raise TableError(TOO_LONG)
    return table_in(words)


def main() -> int:
    # Here alone: what reads workbooks takes much memory.
    from .workbook import read_workbook  # noqa: PLC0415

    os.nice(5)
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    try:
        words, code = text_of(read_workbook(sys.stdin.buffer.read())), 0
    except TableError as error:
        words, code = str(error), REFUSED
    sys.stdout.write(words)
    return code


if __name__ == "__main__":
    sys.exit(main())
