"""`python -m tests.bench.gate`: what the gate of meters costs a value, from the
database to the verdict. Aim: 5 ms for one that fits; one that is asked about costs the
looks at the other rigs, too.

The meter is a heavy user's, with 2,500 readings, of a household of five such rigs.
Beside it stands the yardstick of the same machine and moment: one look at all of its
readings, as the reckoning takes them. Times are of the processor.
"""

import os
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")
os.environ["RIGSITE_DATA"] = tempfile.mkdtemp(prefix="rig-")
os.environ["LOG_LEVEL"] = "WARNING"

import django

django.setup()

from django.core.management import call_command

from maintenance.vehicles.gate import Typed, judge
from maintenance.vehicles.models import Reading
from maintenance.vehicles.queries import meters_of_rig
from tests import builders

AIM = 0.005
READINGS, RIGS, ROUNDS = 2500, 5, 25
FIRST = date(2019, 1, 1)


def fill():
    """The odometer of the last of the rigs."""
    household = builders.make_member().household
    for number in range(RIGS):
        rig = builders.make_rig(household, name=f"Rig {number}")
        meter = rig.meters.get()
        Reading.objects.bulk_create(
            Reading(
                meter=meter, on=FIRST + timedelta(days=n), value=number * 7000 + 20 * n
            )
            for n in range(READINGS)
        )
    return meter


def best(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    call_command("migrate", verbosity=0)
    meter = fill()
    whole = best(lambda: meters_of_rig(meter.rig))
    last, end = meter.readings.latest("on"), FIRST + timedelta(days=READINGS)
    print("value                    ms  of 5 ms  of all readings")
    for name, on, value in (
        ("fits", end, last.value + 30),
        ("outside its habit", end + timedelta(days=60), last.value + 57_900),
        ("a digit too many", end, last.value * 10),
        ("in the past", end - timedelta(days=900), last.value),
    ):
        typed = Typed(meter, on, Decimal(value))
        took = best(lambda typed=typed: judge(typed))
        print(f"{name:20}{took * 1000:8.2f}{took / AIM:9.2f}{took / whole:12.2f}")


if __name__ == "__main__":
    main()
