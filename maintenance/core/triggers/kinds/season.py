"""Each spring, or each autumn."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal, Self, cast

from maintenance.core.dates import MonthDay, latest_season, season_of
from maintenance.core.facts import Fact
from maintenance.core.fields import Fields, as_choice
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import Kind, Units, YearOfUse
from maintenance.core.triggers.windows import DayWindow, History, WindowResult
from maintenance.core.why import happened

EARLY = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Season(Kind):
    """The season itself is the window; one completion from 30 days before it settles
    it, and a missed one stays until the next of its kind opens."""

    key = "season"
    hangs_on = "occasion"
    name: Literal["spring", "autumn"]

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        place = fields.at(cls.key)
        name = as_choice(fields.take(cls.key), place, ("spring", "autumn"))
        return cls(cast(Literal["spring", "autumn"], name))

    def to_data(self) -> dict[str, object]:
        return {self.key: self.name}

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        ends = self._ends(day)
        year = latest_season(day.as_of, ends)[0].year
        while True:
            opens, closes = season_of(year, ends)
            answers = opens > day.as_of or _answers(day, history, closes)
            if answers and not history.since(opens - EARLY):
                break
            year += 1
        last = history.last_on
        facts = (
            *(() if last is None else _last_done(day, history)),
            Fact("season", {"name": self.name, "opens": opens, "closes": closes}),
        )
        return WindowResult((DayWindow(self.key, opens, closes, why=facts),))

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return Decimal(1)

    def turns(self, day: RigTimeline) -> Iterator[date]:
        """The next openings of the season."""
        for year in (day.as_of.year, day.as_of.year + 1):
            yield season_of(year, self._ends(day))[0]

    def _ends(self, day: RigTimeline) -> tuple[MonthDay, MonthDay]:
        calendar = day.calendar
        return calendar.spring if self.name == "spring" else calendar.autumn


def _answers(day: RigTimeline, history: History, closes: date) -> bool:
    """Whether the item answers for a season that has opened and closes then."""
    taken_on = history.item.taken_on
    if taken_on is not None:
        return closes >= taken_on
    starts = [] if history.first_on is None else [history.first_on]
    if history.baseline is not None:
        starts.append(history.baseline.on)
    return closes >= (min(starts) if starts else day.as_of)


def _last_done(day: RigTimeline, history: History) -> tuple[Fact, ...]:
    base = history.done[-1]
    return happened("done", day, on=base.on, until=base.until, values={}, meter=None)


KIND = Season
