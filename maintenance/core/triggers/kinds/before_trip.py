"""Before each trip."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Self

from maintenance.core.facts import Fact
from maintenance.core.fields import Fields
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import Kind, Units, YearOfUse
from maintenance.core.triggers.plain import days_near, inner
from maintenance.core.triggers.windows import DayWindow, History, WindowResult
from maintenance.core.why import window_of_days


@dataclass(frozen=True, slots=True)
class BeforeTrip(Kind):
    """Due before the first trip not yet ended that nothing was done for; can be done
    `lead` days before it."""

    key = "before_trip"
    hangs_on = "occasion"
    lead: int = 3

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        found = inner(fields, cls.key)
        before = cls(days_near(found, "lead", 3))
        found.finish()
        return before

    def to_data(self) -> dict[str, object]:
        return {self.key: {"lead": self.lead}}

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        lead = timedelta(days=self.lead)
        trips = sorted(day.rig.trips, key=lambda one: (one.start, one.end))
        for trip in trips:
            opens = trip.start - lead
            if trip.end < day.as_of or history.since(opens):
                continue
            facts = (
                Fact("trip", {"start": trip.start, "end": trip.end}),
                window_of_days(opens, trip.start),
            )
            return WindowResult((DayWindow(self.key, opens, trip.start, why=facts),))
        return WindowResult(idle=(Fact("no_trip", {}),))

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return Decimal(year.trips)


KIND = BeforeTrip
