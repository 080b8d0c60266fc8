"""`python -m tests.fuzz 5000 [--seed 1] [--demo]`: the walk, and what came of it.

In a data folder of its own, on SQLite. `--demo` walks in the invented household, which
has years behind it. Exits 1 if there is one fault.
"""

import argparse
import os
import sys
import tempfile
import time
import warnings


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("requests", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--demo", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="rigsite-walk-") as folder:
        os.environ |= {
            "DJANGO_SETTINGS_MODULE": "rigsite.settings",
            "RIGSITE_DATA": folder,
            "LOG_LEVEL": "ERROR",
        }
        os.environ.pop("DATABASE_URL", None)
        return _walk(options.requests, options.seed, demo=options.demo)


def _walk(requests: int, seed: int, *, demo: bool) -> int:
    import django
    from django.test.utils import setup_test_environment

    django.setup()
    setup_test_environment()
    import time_machine
    from django.core.management import call_command

    from rigsite.celery import app
    from tests.conftest import pytest_configure
    from tests.fuzz.home import make_home
    from tests.fuzz.walk import walk

    pytest_configure(None)
    app.conf.broker_url = "memory://"
    warnings.simplefilter("error")
    call_command("migrate", verbosity=0)
    with time_machine.travel("2026-05-04 15:00 +0000"):
        strangers = make_home("Birch")
        members = _demo() if demo else make_home("Alder")
        began = time.process_time()
        walked = walk(members, strangers, requests=requests, seed=seed)
    for key, fault in walked.faults.items():
        print(f"--- {key}\n{fault.what}: {fault.words}\n")
    print("Not reached:", ", ".join(sorted(walked.not_reached)) or "none")
    print(f"{walked}; {time.process_time() - began:.0f} s of work")
    return 1 if walked.faults else 0


def _demo():
    from django.core.management import call_command

    from maintenance.households.models import Household
    from tests.builders import make_member

    call_command("load_demo", beside=True, verbosity=0)
    household = Household.objects.get(is_demo=True)
    return [make_member(household, role) for role in ("keeper", "crew", "viewer")]


if __name__ == "__main__":
    sys.exit(main())
