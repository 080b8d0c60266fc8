"""`python -m tests.bench.bundling`: what arranging jobs into sittings costs, and how
that grows. The yardstick is sorting the same jobs by their windows."""

import random
import time
from datetime import date, timedelta

from maintenance.core.bundling import Job, bundle

TODAY = date(2026, 5, 4)
SHARES = ("wheels", "roof", "underside", "ladder", "grease gun", "torque wrench")


def make_jobs(count: int) -> list[Job]:
    """Of a year; as many of a shop as the library has."""
    chance = random.Random(count)  # noqa: S311  (the same jobs each time)
    jobs = []
    for n in range(count):
        opens = TODAY + timedelta(days=chance.randint(-30, 335))
        closes = opens + timedelta(days=chance.choice([0, 7, 30, 60, 90]))
        shares = frozenset(chance.sample(SHARES, chance.randint(0, 2)))
        jobs.append(Job(n, opens, closes, chance.random() < 0.16, shares))
    return jobs


def best_of(times: int, call) -> float:
    found = []
    for _ in range(times):
        began = time.perf_counter()
        call()
        found.append(time.perf_counter() - began)
    return min(found)


def main() -> None:
    before = None
    for count in (100, 500, 2500):
        jobs = make_jobs(count)
        took = best_of(9, lambda jobs=jobs: bundle(jobs, today=TODAY))
        sort = best_of(
            9, lambda jobs=jobs: sorted(jobs, key=lambda j: (j.closes, j.opens))
        )
        grew = (
            f"{took / before[1] / (count / before[0]):.2f} a job of before"
            if before
            else ""
        )
        sessions = len(bundle(jobs, today=TODAY))
        print(
            f"{count} jobs: {took * 1000:.1f} ms, {took / sort:.0f} x sorting, "
            f"{sessions} sittings {grew}"
        )
        before = (count, took)


if __name__ == "__main__":
    main()
