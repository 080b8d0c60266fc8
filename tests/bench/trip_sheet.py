"""`python -m tests.bench.trip_sheet`: what looking ahead over a trip costs, for
five rigs with 750 items in all, and how that grows. The yardstick is reckoning them;
both have the habits that the last reckoning kept, as in the program."""

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from maintenance.core.cases import parse_case
from maintenance.core.facts import Calendar, Rig, Trip
from maintenance.core.reckon import reckon
from maintenance.core.tripwork import look_ahead
from tests.bench.reckon import AS_OF, make_case

RIGS = 5
CALENDAR = Calendar()
TRIP = Trip(AS_OF + timedelta(days=6), AS_OF + timedelta(days=23), Decimal(1800), "mi")


def make_rig(scale: int) -> Rig:
    """150 items, 2,000 completions, 5,000 readings; `scale` times that."""
    rig, _calendar, _as_of = parse_case(make_case(scale), "")
    return replace(rig, trips=(TRIP,))


def best_of(times: int, call: Callable[[], object]) -> float:
    found = []
    for _ in range(times):
        began = time.process_time()
        call()
        found.append(time.process_time() - began)
    return min(found)


def main() -> None:
    before = 0.0
    for scale in (1, 2, 4):
        rig = make_rig(scale)
        day = {
            "calendar": CALENDAR,
            "as_of": AS_OF,
            "kept": reckon(rig, calendar=CALENDAR, as_of=AS_OF).habits,
        }

        def look(rig: Rig = rig, day: dict = day) -> None:
            for _ in range(RIGS):
                look_ahead(rig, TRIP, **day)

        def stand(rig: Rig = rig, day: dict = day) -> None:
            for _ in range(RIGS):
                reckon(rig, **day)

        took, yardstick = best_of(5, look), best_of(5, stand)
        grew = f", {took / before / 2:.2f} an item of before" if before else ""
        print(
            f"{RIGS} rigs, {RIGS * len(rig.items)} items: {took * 1000:.0f} ms, "
            f"{took / yardstick:.2f} of reckoning them{grew}"
        )
        before = took


if __name__ == "__main__":
    main()
