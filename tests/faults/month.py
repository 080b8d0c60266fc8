"""A month of a household on an invented clock, its program killed at random moments:
`python -m tests.faults.month [--runs 200] [--postgres]`.

Each run goes through 28 days (`--days`) in steps of some hours. A process does what
the schedule does at each step, and is killed with signal 9 after a random time; the
next one goes on at the step that was not finished. The mail server refuses, drops the
line after a mail or puts it off by chance. At the end each person has one digest for
each day, every notice was told, and nothing came twice but under one Message-ID.
"""

import argparse
import contextlib
import os
import random
import signal
import sys
import time
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from multiprocessing import get_context
from pathlib import Path
from zoneinfo import ZoneInfo

from tests.faults.house import house
from tests.faults.mailbox import Mailbox

PEOPLE = 2
HOURS = (5, 8, 12, 20)  # local; mail goes out from 7
FIRST = date(2026, 3, 1)  # the clock changes on the 8th
ZONE = ZoneInfo("America/Denver")
TROUBLE = ["250 OK", "250 OK", "250 OK", "cut", "451 4.3.0 Try later"]


def steps(days: int) -> list[datetime]:
    dates = [FIRST + timedelta(days=n) for n in range(days)]
    local = [
        datetime(d.year, d.month, d.day, h, tzinfo=ZONE) for d in dates for h in HOURS
    ]
    return [moment.astimezone(UTC) for moment in local]


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults.month")
    parser.add_argument("--runs", type=int, default=10)
    parser.add_argument("--days", type=int, default=28)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--postgres", action="store_true")
    options = parser.parse_args()
    with house(postgres=options.postgres) as made:
        import django  # noqa: PLC0415  (its settings are read from the environment)

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        if made.own_broker:
            made.start_broker()  # nobody listens: each step sends by itself
        warm_up()
        totals: Counter[str] = Counter()
        for run in range(options.seed, options.seed + options.runs):
            chance = random.Random(run)  # noqa: S311  (the same run by the same number)
            totals += one_run(chance, made.mailbox, made.folder, options.days)
    for name, count in totals.items():
        print(f"{name:28}{count:7}")
    print("every day of every person has one digest; nothing lost, nothing doubled")
    return 0


def warm_up() -> None:
    """What is loaded once, before the first copy of this process is made."""
    from tests.faults.month_home import one_step, set_up  # noqa: PLC0415

    set_up(1, FIRST, 1)
    for moment in steps(1):
        one_step(moment)


def one_run(
    chance: random.Random, box: Mailbox, folder: Path, days: int
) -> Counter[str]:
    from tests.faults.month_home import checked, set_up  # noqa: PLC0415

    set_up(PEOPLE, FIRST, days)
    box.taken.clear()
    box.bodies.clear()
    box.at_data = [chance.choice(TROUBLE) for _ in range(60)]
    done, kills = folder / "done", 0
    done.write_text("0")
    while (at := int(done.read_text())) < len(steps(days)):
        with child(done, at, days) as pid:
            kills += killed_in_time(pid, chance.uniform(0.05, 1))
    found = checked(box, PEOPLE, FIRST, days)
    return Counter({"months": 1, "kills": kills, **found})


@contextlib.contextmanager
def child(done: Path, at: int, days: int) -> Iterator[int]:
    """A copy of this process that goes on from a step; no connection is taken along."""
    from django.db import connection  # noqa: PLC0415

    connection.close()
    process = get_context("fork").Process(target=go_on, args=(done, at, days))
    process.start()
    assert process.pid
    try:
        yield process.pid
    finally:
        process.join(60)
        assert process.exitcode in (0, -signal.SIGKILL), process.exitcode


def killed_in_time(pid: int, seconds: float) -> int:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if not Path(f"/proc/{pid}/stat").exists() or _is_over(pid):
            return 0
        time.sleep(0.01)
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)
    return 1


def _is_over(pid: int) -> bool:
    return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] == "Z"


def go_on(done: Path, at: int, days: int) -> None:
    from tests.faults.month_home import one_step  # noqa: PLC0415

    for number, moment in enumerate(steps(days)):
        if number >= at:
            one_step(moment)
            fresh = done.with_suffix(".new")
            fresh.write_text(str(number + 1))
            fresh.replace(done)


if __name__ == "__main__":
    sys.exit(main())
