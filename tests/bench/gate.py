"""`python -m tests.bench.gate`: what the gate of meters costs a value. Aim: 5 ms.

The meter is a heavy user's, with 2,500 readings, of a household of five rigs. Beside it
stands the yardstick of the same machine and moment: one reckoning of that rig.
"""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from maintenance.core.facts import Reading
from maintenance.core.meters import judge_value
from maintenance.core.reckon import reckon
from tests.bench.reckon import AS_OF, best, make_case, read

AIM = 0.005


def main() -> None:
    rig, calendar, as_of, _yardstick = read(make_case(1))
    kept = reckon(rig, calendar=calendar, as_of=as_of).habits
    whole = best(lambda: reckon(rig, calendar=calendar, as_of=as_of, kept=kept))
    own = rig.meters["odometer"]
    last = own.readings[-1]
    others = {f"rig {n}": replace(own) for n in range(4)}
    print("value                    ms  of 5 ms  of a reckoning")
    for name, days, value in (
        ("fits", 1, last.value + 30),
        ("outside its habit", 60, last.value + 57_900),
        ("a digit too many", 1, last.value * 10),
        ("in the past", -900, last.value),
    ):
        on = min(last.on + timedelta(days=days), AS_OF + timedelta(days=90))
        given = Reading(on, Decimal(value))
        took = best(lambda given=given: judge_value(own, given, others=others))
        print(f"{name:20}{took * 1000:8.2f}{took / AIM:9.2f}{took / whole:12.2f}")


if __name__ == "__main__":
    main()
