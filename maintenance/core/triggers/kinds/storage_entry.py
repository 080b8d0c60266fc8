"""Before storage, or by so many days into a stay that lasts longer."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Self

from maintenance.core.facts import Fact, Span
from maintenance.core.fields import Fields
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import Kind, Units, YearOfUse
from maintenance.core.triggers.plain import days_near, inner, too_long
from maintenance.core.triggers.stays import EARLY, stay_facts
from maintenance.core.triggers.windows import DayWindow, History, WindowResult
from maintenance.core.why import window_of_days


@dataclass(frozen=True, slots=True)
class StorageEntry(Kind):
    """Due `by_day` days after a stay's start; can be done `lead` days before it."""

    key = "storage_entry"
    hangs_on = "occasion"
    by_day: int = 0
    lead: int = 7

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        found = inner(fields, cls.key)
        entry = cls(days_near(found, "by_day", 0), days_near(found, "lead", 7))
        found.finish()
        return entry

    def to_data(self) -> dict[str, object]:
        return {self.key: {"by_day": self.by_day, "lead": self.lead}}

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        """A stay that ends before asks nothing."""
        early = max(EARLY, timedelta(days=self.lead))
        for stay in day.stays:
            closes = stay.start + timedelta(days=self.by_day)
            end = day.end_of(stay)
            ended = stay.until is not None
            if ended or (end is not None and end < closes):
                continue
            if history.since(stay.start - early):
                continue
            opens = stay.start - timedelta(days=self.lead)
            facts = (*stay_facts(day, stay), window_of_days(opens, closes))
            return WindowResult((DayWindow(self.key, opens, closes, why=facts),))
        return WindowResult(idle=(Fact("no_stay_entry", {}),))

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return Decimal(1 if self.by_day <= year.stored_days else 0)

    def implausible(self) -> str | None:
        return too_long(Span(days=self.by_day))


KIND = StorageEntry
