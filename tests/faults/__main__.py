"""The table of faults and what came of each: `python -m tests.faults [WORDS]
[--postgres]`, with words those alone whose name has them (`power_cut`).

They strike the jobs (time, the way to people, what is kept), processes, and data: real
ones, real servers and disks. Exits 1 if one outcome is not what it is to be; what this
machine does not allow is named as not run. In the suite `tests/start/` runs those on
processes, and the quick ones on data.
"""

import argparse
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.faults.house import House, house
from tests.faults.table import Fault, NotRun, faults


def main() -> int:
    options = _options()
    with house(postgres=options.postgres, database=options.database) as made:
        import django  # noqa: PLC0415  (its settings are read from the environment)

        django.setup()
        results: list[bool] = []
        # Before any worker runs, which would do what the jobs are to do.
        if options.on in (None, "jobs"):
            results += _strike_jobs(made, options.words)
        if options.on in (None, "processes"):
            results += _strike_processes(made, options.words)
        if options.on in (None, "data"):
            results += _strike_data(options.database, options.words)
    return 0 if all(results) else 1


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.faults")
    parser.add_argument("words", nargs="?", default="")
    on = ["jobs", "processes", "data"]
    parser.add_argument("--on", choices=on, help="these alone")
    parser.add_argument("--postgres", action="store_true")
    parser.add_argument("--database", type=Path, help="SQLite, migrated already")
    return parser.parse_args()


def _strike_jobs(made: House, words: str) -> list[bool]:
    found = faults("jobs", words)
    if not found:
        return []
    from tests.faults.faults import outcome, set_up  # noqa: PLC0415  (models)

    set_up()
    return [_row(fault, lambda fault=fault: outcome(fault, made)) for fault in found]


def _strike_processes(made: House, words: str) -> list[bool]:
    found = faults("processes", words)
    if not found:
        return []
    from tests.faults.faults import outcome, prepare, set_up  # noqa: PLC0415  (models)

    set_up()
    prepare(made)
    return [_row(fault, lambda fault=fault: outcome(fault, made)) for fault in found]


def _strike_data(migrated: Path | None, words: str) -> list[bool]:
    found = faults("data", words)
    if not found:
        return []
    from tests.faults.place import make_template, outcome  # noqa: PLC0415  (models)

    with TemporaryDirectory(prefix="rig-") as folder:
        template = Path(folder, "template")
        make_template(template, migrated=migrated)
        return [
            _row(fault, lambda fault=fault: outcome(fault, template)) for fault in found
        ]


def _row(fault: Fault, strike: Callable[[], str]) -> bool:
    """Print what came of it; False when it is not what it is to be."""
    began = time.monotonic()
    sign, words = "ok", ""
    try:
        words = strike()
    except NotRun as reason:
        sign, words = "----", f"NOT RUN: {reason}"
    except (AssertionError, TimeoutError) as error:
        sign, words = "BAD", str(error) or type(error).__name__
    took = time.monotonic() - began
    print(f"{sign:5}{fault.name:48}{took:5.1f} s  {words}", flush=True)
    return sign != "BAD"


if __name__ == "__main__":
    sys.exit(main())
