"""`python -m tests.bench.forecast [tune] [cases per pattern]`: print the score.

The score is taken on the stream `score`; the estimator was tuned on `tune` alone.
"""

import sys
import time
from collections.abc import Callable, Sequence
from decimal import Decimal

from maintenance.core.facts import Dates
from maintenance.core.forecast import Use, fit
from tests.bench.forecast.households import PATTERNS, Case, make_case
from tests.bench.forecast.score import score_case, show, strict_ratio, table

ITEMS = 150


def main(arguments: list[str]) -> None:
    stream = "tune" if "tune" in arguments else "score"
    count = next((int(a) for a in arguments if a.isdecimal()), 100)
    cases = [
        make_case(pattern, number, stream)
        for pattern in PATTERNS
        for number in range(count)
    ]
    scored = [score_case(case) for case in cases]
    rows = table(scored)
    print(f"Stream {stream}; loss and band in days.")
    print(show(rows))
    strict = strict_ratio(scored, rows)
    print(f"pooled, against the plain rate best for each pattern: {strict:.3f}")
    entered = [sum(map(bool, have)) for have in zip(*map(_entries, cases), strict=True)]
    print("cases with stays {}, a stay ahead {}, a trip ahead {}".format(*entered))
    show_costs(cases[:: max(len(cases) // 40, 1)])


def _entries(case: Case) -> tuple[bool, bool, bool]:
    ahead = any(stay.until is None and stay.planned_until for stay in case.stays)
    return bool(case.stays), ahead, bool(case.trips)


def show_costs(cases: Sequence[Case]) -> None:
    costs = [costs_of(case) for case in cases]
    fitting, asking = (
        sum(each) / len(costs) * 1e3 for each in zip(*costs, strict=True)
    )
    print(
        f"fit once {fitting:.1f} ms; opens and closes of {ITEMS} items together "
        f"{asking:.2f} ms ({asking / fitting:.2f} of a fit)"
    )


def costs_of(case: Case) -> tuple[float, float]:
    """Seconds to fit, and to ask for all items of a rig."""
    known = case.readings[-1][1]
    opens = [known + Decimal(80 * item) for item in range(ITEMS)]

    def fitted() -> Use:
        return fit(case.readings, unit="mi", as_of=case.as_of, stays=case.stays)

    use = fitted()

    def asked() -> list[tuple[Dates, Dates]]:
        return [(use.reach(value), use.reach(value + 500)) for value in opens]

    return cost(fitted), cost(asked)


def cost(run: Callable[[], object], times: int = 5) -> float:
    """Seconds of the quickest run."""
    found = []
    for _ in range(times):
        began = time.perf_counter()
        run()
        found.append(time.perf_counter() - began)
    return min(found)


if __name__ == "__main__":
    main(sys.argv[1:])
