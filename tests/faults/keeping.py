"""Faults of time, of the way to people and of what is kept, with what came of each:
`python -m tests.faults.keeping`. Without workers: what they run is run here."""

import argparse
import sys
import time
from pathlib import Path

from tests.faults.house import house


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults.keeping")
    parser.add_argument("--database", type=Path, help="SQLite, migrated already")
    parser.add_argument("--only", default="")
    options = parser.parse_args()
    bad = 0
    with house(postgres=False, database=options.database) as made:
        import django  # noqa: PLC0415  (its settings are read from the environment)

        django.setup()
        from django.core.management import call_command  # noqa: PLC0415

        from tests.faults import reach_faults, store_faults, time_faults  # noqa: PLC0415

        call_command("migrate", verbosity=0)
        call_command("collectstatic", verbosity=0, interactive=False)
        for module in (time_faults, reach_faults, store_faults):
            for fault in module.FAULTS:
                if options.only not in fault.__name__:
                    continue
                made.mailbox.taken.clear()
                began = time.monotonic()
                try:
                    name, words = fault(made)
                    verdict = "ok"
                except (AssertionError, TimeoutError) as error:
                    name, words, verdict = fault.__name__, str(error)[:600], "BAD"
                    bad += 1
                took = time.monotonic() - began
                print(f"{verdict:4}{name:44}{took:5.1f} s  {words}", flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
