"""The table of faults and what came of each: `python -m tests.faults [--postgres]`.

Real processes and servers, killed and hung. Exits 1 if one outcome is not what it is to
be. `tests/start/test_faults.py` runs it on SQLite.
"""

import argparse
import sys
import time
from pathlib import Path

from tests.faults.house import house


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults")
    parser.add_argument("--postgres", action="store_true")
    parser.add_argument("--database", type=Path, help="SQLite, migrated already")
    parser.add_argument("--only", default="")
    options = parser.parse_args()
    with house(postgres=options.postgres, database=options.database) as made:
        import django  # noqa: PLC0415  (its settings are read from the environment)

        django.setup()
        from tests.faults import faults  # noqa: PLC0415

        bad = 0
        faults.prepare(made)
        for name, fault in faults.FAULTS.items():
            if options.only not in name:
                continue
            began = time.monotonic()
            ok, words = faults.outcome(fault, made)
            bad += not ok
            took = time.monotonic() - began
            print(
                f"{'ok' if ok else 'BAD':4}{name:44}{took:5.1f} s  {words}", flush=True
            )
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
