"""What a fitted meter answers: when a value is reached, and the band of the chart."""

from bisect import bisect_left
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from maintenance.core.facts import Dates, Fact, KeptHabit
from maintenance.core.forecast.days import Floats

HORIZON_DAYS = 5479  # 15 years; nothing beyond it is given as a date
Curve = tuple[float, ...]  # by day


@dataclass(frozen=True, slots=True)
class Past:
    """The readings, and how many days out of stays lie before each day from the first.

    `counted[i]` belongs to the day `i` days after the first reading.
    """

    days: tuple[date, ...] = ()
    values: tuple[Decimal, ...] = ()
    counted: Floats | None = None

    def reached(self, value: Decimal) -> date | None:
        """The day on which `value` was reached; None: not by the last reading."""
        at = bisect_left(self.values, value)
        if at == len(self.values):
            return None
        if at == 0 or self.values[at] == value:
            return self.days[at]
        low, high = self.values[at - 1], self.values[at]
        return self._between(at, float((value - low) / (high - low)))

    def _between(self, at: int, share: float) -> date:
        if self.counted is None:
            return self.days[at]
        begin = (self.days[at - 1] - self.days[0]).days
        end = (self.days[at] - self.days[0]).days
        span = self.counted[begin : end + 1]
        if span[-1] == span[0]:  # all of it stored: no day is better than another
            span = np.arange(end - begin + 1, dtype=np.float64)
        wanted = span[0] + share * (span[-1] - span[0])
        step = int(np.searchsorted(span, wanted - 1e-9))
        return self.days[at - 1] + timedelta(days=step)


@dataclass(frozen=True, slots=True)
class Use:
    """The use of one meter, fitted once; each answer is three look-ups.

    `low`, `mid` and `high` hold the value that the meter has by the end of each day
    from `start` on with 90, 50 and 10 % confidence; they never fall. `fitted`: there
    was a habit to be learned; without, they hold what trips state alone.
    """

    past: Past
    start: date
    as_of: date
    low: Curve = ()
    mid: Curve = ()
    high: Curve = ()
    why: tuple[Fact, ...] = ()
    habit: KeptHabit | None = None
    fitted: bool = False

    def reach(self, value: Decimal) -> Dates:
        """The days on which `value` (true value, in the meter's unit) is reached.

        A value already reached gives its day, interpolated, three times. None: not
        within 15 years of `as_of`, or no use to go by.
        """
        known = self.past.reached(value)
        if known is not None:
            return Dates(known, known, known)
        wanted = float(value)
        return Dates(
            self._first_day(self.high, wanted),
            self._first_day(self.mid, wanted),
            self._first_day(self.low, wanted),
        )

    def expected_on(self, value: Decimal) -> date | None:
        """The day from which on a value is expected with 10 % confidence, also where
        that day has gone by and no reading tells."""
        return self._day(self.high, float(value))

    def _first_day(self, curve: Curve, wanted: float) -> date | None:
        day = self._day(curve, wanted)
        return None if day is None else max(day, self.as_of)

    def _day(self, curve: Curve, wanted: float) -> date | None:
        at = bisect_left(curve, wanted - 1e-6)
        return None if at == len(curve) else self.start + timedelta(days=at)

    def band(
        self, until: date, step_days: int = 7
    ) -> list[tuple[date, float, float, float]]:
        """Day and the value reached by then with 90, 50 and 10 % confidence.

        From `as_of` to `until`, both included, every `step_days`; empty without use.
        """
        end = (until - self.start).days
        begin = max((self.as_of - self.start).days, 0)
        end = min(end, len(self.mid) - 1)
        if end < begin:
            return []
        steps = [*range(begin, end, max(step_days, 1)), end]
        return [
            (self.start + timedelta(days=i), self.low[i], self.mid[i], self.high[i])
            for i in steps
        ]
