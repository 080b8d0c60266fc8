"""The life of a part, from the date on it."""

import re
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from maintenance.core.dates import add_span, month_end
from maintenance.core.facts import Fact, FactError, Span
from maintenance.core.fields import Fields, as_day
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import Kind, Units, YearOfUse
from maintenance.core.triggers.plain import (
    MOST_TIME,
    inner,
    per_year,
    span,
    too_long,
)
from maintenance.core.triggers.windows import (
    DayWindow,
    History,
    MissingInput,
    WindowResult,
)
from maintenance.core.why import happened, window_of_days

LEAD = timedelta(days=90)
_MONTH = re.compile(r"\d{4}-\d{2}")


@dataclass(frozen=True, slots=True)
class Life(Kind):
    """`start` is a day, a day of the month when `month_only`, or not known yet. It
    counts from there alone: work done on the part does not renew it. A new unit is good
    from the day of its event, where no later date is given."""

    key = "life"
    hangs_on = "age"
    length: Span
    start: date | None
    month_only: bool = False

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        found = inner(fields, cls.key)
        kind = found.one_of(("years", "months"), "a length of time")
        length = span(found)
        for other in MOST_TIME:
            if other != kind:
                found.get(other)
        start, place = found.get("from"), found.at("from")
        found.finish()
        if start is None:
            return cls(length, None)
        if isinstance(start, str) and _MONTH.fullmatch(start):
            return cls(length, as_day(f"{start}-01", place), month_only=True)
        if isinstance(start, str) and len(start) < 10:
            raise FactError(place, "must be a day or a month like 2015-04")
        return cls(length, as_day(start, place))

    def to_data(self) -> dict[str, object]:
        found: dict[str, object] = {"months": self.length.months}
        if self.start is not None:
            found["from"] = self.start.isoformat()[: 7 if self.month_only else 10]
        return {self.key: found}

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        own = history.item.fitted_on  # the unit that came then has dates of its own
        new = next((one for one in history.renewed[-1:] if one.on != own), None)
        if new is not None and (self.start is None or new.on > self.start):
            return replace(self, start=new.on, month_only=False)._window(
                happened(
                    "renewed", day, on=new.on, values={}, meter=None, kind=new.kind
                )
            )
        if self.start is None:
            return WindowResult(
                missing=(MissingInput(self.key, (Fact("no_life_start", {}),)),)
            )
        return self._window()

    def _window(self, renewed: tuple[Fact, ...] = ()) -> WindowResult:
        assert self.start is not None  # noqa: S101  (the caller asked)
        closes = add_span(self.start, self.length)
        if self.month_only:
            closes = month_end(closes)
        opens = closes - LEAD
        good = Fact(
            "life",
            {
                "months": self.length.months,
                "start": self.start,
                "month_only": "yes" if self.month_only else "",
            },
        )
        why = (*renewed, good, window_of_days(opens, closes))
        return WindowResult((DayWindow(self.key, opens, closes, why=why),))

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return per_year(self.length)

    def implausible(self) -> str | None:
        return too_long(self.length)

    def time_interval(self) -> Span:
        return self.length

    def stated_day(self) -> date | None:
        return self.start


KIND = Life
