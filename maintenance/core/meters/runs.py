"""Hours of what has no hour meter: the sum of its logged runs, until one is fitted.

Nothing ran between two runs, so the value stands still there. Before the first it is 0.
Source: the design, section 4.1.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.dates import DAY, InUse
from maintenance.core.facts import Meter, MeterState, Run
from maintenance.core.meters.fitted import track_fitted
from maintenance.core.meters.track import ZERO, Scale, Track


@dataclass(frozen=True, slots=True)
class RunTrack(Track):
    """Hours by a log of runs alone."""

    def state(self) -> MeterState:
        return MeterState(
            self.unit,
            self.shown_last,
            self.known_on,
            told_by="runs",
            on_day=self.shown_value,
        )


def track_runs(meter: Meter, in_use: InUse) -> Track:
    runs = meter.runs or ()
    points = _points(runs)
    if meter.fitted is not None or meter.readings:
        return track_fitted(meter, in_use, points, lambda day: _sum_by(runs, day))
    return RunTrack(
        meter.unit,
        Scale(()),
        in_use,
        days=[day for day, _value in points],
        values=[value for _day, value in points],
        before=ZERO,
        shown_last=points[-1][1] if points else ZERO,
    )


def _points(runs: Sequence[Run]) -> list[tuple[date, Decimal]]:
    """The sum at the end of each day with a run, and of the day before it."""
    hours: dict[date, Decimal] = defaultdict(Decimal)
    for run in runs:
        hours[run.on] += run.hours
    points: list[tuple[date, Decimal]] = []
    total = ZERO
    for on in sorted(hours):
        if not points or points[-1][0] < on - DAY:
            points.append((on - DAY, total))
        total += hours[on]
        points.append((on, total))
    return points


def _sum_by(runs: Sequence[Run], day: date) -> Decimal:
    return sum((run.hours for run in runs if run.on <= day), ZERO)
