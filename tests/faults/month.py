"""A month of a household on an invented clock, its program killed at random moments:
`python -m tests.faults.month [--runs 200] [--postgres]`.

Each run goes through 28 days (`--days`) in steps of some hours. A process does what
the schedule does at each step, and is killed with signal 9 wherever it is after a
random amount of work; the next one goes on at the step that was not finished. The mail
server refuses, drops the line after a mail or puts it off by chance. At the end each
person has one digest for each day, every notice was told, and nothing came twice but
under one Message-ID.
"""

import argparse
import os
import random
import signal
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from multiprocessing import get_context
from pathlib import Path
from typing import Any
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
    parser.add_argument("--database", type=Path, help="SQLite, migrated already")
    options = parser.parse_args()
    with house(postgres=options.postgres, database=options.database) as made:
        import django  # noqa: PLC0415  (its settings are read from the environment)

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        if made.own_broker:
            made.start_broker()  # nobody listens: each step sends by itself
        most = 2 * statements_of_a_day()
        totals: Counter[str] = Counter()
        for run in range(options.seed, options.seed + options.runs):
            chance = random.Random(run)  # noqa: S311  (the same run by the same number)
            totals += one_run(chance, made.mailbox, made.folder, options.days, most)
    for name, count in totals.items():
        print(f"{name:28}{count:7}")
    print("every day of every person has one digest; nothing lost, nothing doubled")
    return 0


def statements_of_a_day() -> int:
    """How many the database is asked for on the first day of one person alone: less
    than on any day of the months. Loads, on the way, what each copy of this process is
    to have."""
    from django.db import connection  # noqa: PLC0415

    from tests.faults.month_home import one_step, set_up  # noqa: PLC0415

    set_up(1, FIRST, 1)
    count = Countdown(sys.maxsize)
    with connection.execute_wrapper(count):
        for moment in steps(1):
            one_step(moment)
    return sys.maxsize - count.left


class Countdown:
    """Counts what the database is asked for, and says when it was enough."""

    def __init__(self, left: int) -> None:
        self.left, self.over = left, threading.Event()

    def __call__(self, execute: Callable[..., Any], *of_the_call: Any) -> Any:
        self.left -= 1
        if not self.left:
            self.over.set()
        return execute(*of_the_call)

    def kill_when_over(self, moments: float) -> None:
        """From beside, some moments later, so that it may hit anything: a statement, a
        commit, a word to the mail server."""
        self.over.wait()
        time.sleep(moments)
        os.kill(os.getpid(), signal.SIGKILL)


def one_run(
    chance: random.Random, box: Mailbox, folder: Path, days: int, most: int
) -> Counter[str]:
    """`most`: statements after which a copy is killed at the latest. That is less than
    the month has, so each month has its kills."""
    from tests.faults.month_home import checked, set_up  # noqa: PLC0415

    set_up(PEOPLE, FIRST, days)
    box.taken.clear()
    box.bodies.clear()
    box.at_data = [chance.choice(TROUBLE) for _ in range(60)]
    done, kills = folder / "done", 0
    done.write_text("0")
    while (at := int(done.read_text())) < len(steps(days)):
        # A little more each time, so that it ends where one step asks for more.
        work, moments = chance.randint(1, most + kills), chance.uniform(0, 0.02)
        kills += killed(done, at, days, work, moments)
    assert kills, "a month without a kill shows nothing"
    found = checked(box, PEOPLE, FIRST, days)
    return Counter({"months": 1, "kills": kills, **found})


def killed(done: Path, at: int, days: int, work: int, moments: float) -> bool:
    """Whether a copy of this process, going on from a step, was killed before the end.
    No connection is taken along."""
    from django.db import connection  # noqa: PLC0415

    connection.close()
    process = get_context("fork").Process(
        target=go_on, args=(done, at, days, work, moments)
    )
    process.start()
    process.join()
    assert process.exitcode in (0, -signal.SIGKILL), process.exitcode
    return process.exitcode != 0


def go_on(done: Path, at: int, days: int, work: int, moments: float) -> None:
    from django.db import connection  # noqa: PLC0415

    from tests.faults.month_home import one_step  # noqa: PLC0415

    count = Countdown(work)
    end = threading.Thread(target=count.kill_when_over, args=(moments,), daemon=True)
    end.start()
    with connection.execute_wrapper(count):
        for number, moment in enumerate(steps(days)):
            if number >= at:
                one_step(moment)
                fresh = done.with_suffix(".new")
                fresh.write_text(str(number + 1))
                fresh.replace(done)


if __name__ == "__main__":
    sys.exit(main())
