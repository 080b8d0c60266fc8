"""`python -m tests.bench.reckon`: what one reckoning costs, and how that grows.

The rig is a heavy user's: 150 items, 2,000 completions, 5,000 readings on three meters.
Costs are given beside a yardstick of the same machine and moment: reading the same
rig's data from JSON, which any answer would have to do. The program reckons with the
habits that the last reckoning kept; beside it stands one from scratch.
"""

import json
import random
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from maintenance.core.cases import parse_case
from maintenance.core.facts import Calendar, KeptHabit, Rig
from maintenance.core.reckon import reckon

AS_OF = date(2026, 5, 4)
DAYS = 3600
TRIGGERS = [
    [
        {"every": {"distance": 5000, "unit": "mi", "meter": "odometer"}},
        {"every": {"months": 12}},
    ],
    [{"every": {"hours": 150, "meter": "generator"}}],
    [{"season": "spring"}, {"season": "autumn"}, {"storage_entry": {}}],
    [{"while_stored": {"days": 30}}],
    [{"every": {"days": 90}, "clock": "in_use"}],
    [
        {
            "after": {
                "event": "wheel_off",
                "distance": [[50, 100], [200, 500]],
                "unit": "mi",
                "meter": "odometer",
            }
        }
    ],
    [{"before_trip": {"lead": 3}}],
    [{"life": {"years": 12, "from": "2015-04"}}],
    [{"every": {"months": 6}}],
    [{"every": {"distance": 12000, "unit": "km", "meter": "odometer"}}],
]


def day(ago: int) -> str:
    return (AS_OF - timedelta(days=ago)).isoformat()


def make_case(scale: int, *, doubtful: bool = False) -> dict[str, object]:
    """A rig with `scale` times the items, completions and readings of the aim."""
    chance = random.Random(scale)  # noqa: S311  (the same figures each time)
    readings = [
        ["odometer", 2500 * scale, 25.0],
        ["generator", 1500 * scale, 0.5],
        ["engine", 1000 * scale, 0.7],
    ]
    meters = {}
    for name, count, rate in readings:
        unit = "mi" if name == "odometer" else "h"
        days = [DAYS * i // count for i in range(count)]
        values = [[day(DAYS - d), round(d * rate, 1)] for d in days]
        if doubtful:
            for i in range(50, count, 500):
                values[i][1] = round(values[i][1] * 10, 1)
        meters[name] = {"unit": unit, "readings": values}
    items = []
    for i in range(150 * scale):
        done = sorted(chance.sample(range(DAYS), 2000 // 150), reverse=True)
        items.append(
            {
                "key": f"item_{i}",
                "triggers": TRIGGERS[i % len(TRIGGERS)],
                "anchored": i % 7 == 0,
                "safety": i % 5 == 0,
                "done": [
                    {"on": day(ago), "odometer": round((DAYS - ago) * 25.0, 1)}
                    for ago in done
                ],
            }
        )
    stays = [
        {"from": day(y * 365 + 180), "to": day(y * 365 + 60)} for y in range(9, -1, -1)
    ]
    events = [
        {"kind": "wheel_off", "on": day(ago), "odometer": (DAYS - ago) * 25}
        for ago in range(900, 10, -100)
    ]
    return {
        "as_of": AS_OF.isoformat(),
        "rig": {"meters": meters, "items": items, "stays": stays, "events": events},
    }


def best(run: Callable[[], object], rounds: int = 7) -> float:
    times = []
    for _ in range(rounds):
        began = time.process_time()
        run()
        times.append(time.process_time() - began)
    return min(times)


Rigs = tuple[Rig, Calendar, date, float]


def read(case: dict[str, object]) -> Rigs:
    """The rig, its calendar and day, and the seconds of reading it from JSON."""
    text = json.dumps(case)
    yardstick = best(lambda: json.loads(text, parse_float=Decimal))
    return *parse_case(json.loads(text, parse_float=Decimal), ""), yardstick


def with_new_reading(rig: Rig) -> Rig:
    """The odometer read once more, on the as-of day."""
    meter = rig.meters["odometer"]
    last = replace(meter.readings[-1], on=AS_OF, value=meter.readings[-1].value + 25)
    more = replace(meter, readings=(*meter.readings, last))
    return replace(rig, meters={**rig.meters, "odometer": more})


def cost(
    rig: Rig, calendar: Calendar, as_of: date, kept: Mapping[str, KeptHabit]
) -> float:
    return best(lambda: reckon(rig, calendar=calendar, as_of=as_of, kept=kept))


def main() -> None:
    print("size  items  done  readings      ms  x JSON  growth")
    first = 0.0
    for scale in (1, 2, 4):
        rig, calendar, as_of, yardstick = read(make_case(scale))
        kept = reckon(rig, calendar=calendar, as_of=as_of).habits
        took = cost(rig, calendar, as_of, kept)
        first = first or took
        print(
            f"x{scale}   {150 * scale:6}{13 * 150 * scale:6}{5000 * scale:10}"
            f"{took * 1000:8.1f}{took / yardstick:8.1f}{took / first:8.2f}"
        )
        if scale == 1:
            scratch = cost(rig, calendar, as_of, {})
            reading = cost(with_new_reading(rig), calendar, as_of, kept)
    rig, calendar, as_of, yardstick = read(make_case(1, doubtful=True))
    kept = reckon(rig, calendar=calendar, as_of=as_of).habits
    took = cost(rig, calendar, as_of, kept)
    print(
        f"x1 with ten wild readings   {took * 1000:8.1f}{took / yardstick:8.1f}"
        f"{took / first:8.2f}"
    )
    print(f"x1 from scratch {scratch * 1000:.1f} ms; of that:")
    print(f"meters unchanged  {first / scratch:.2f}; {first / 0.020:.2f} of 20 ms")
    print(f"odometer read     {reading / scratch:.2f}; {reading / 0.040:.2f} of 40 ms")


if __name__ == "__main__":
    main()
