"""When the rig leaves storage."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from maintenance.core.facts import Fact
from maintenance.core.fields import Fields
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.kind import Kind, Units, YearOfUse
from maintenance.core.triggers.plain import inner
from maintenance.core.triggers.stays import EARLY, stay_facts
from maintenance.core.triggers.windows import DayWindow, History, WindowResult
from maintenance.core.why import window_of_days

LEAD = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class StorageExit(Kind):
    """Due by a stay's end; overdue until done or until the next stay begins."""

    key = "storage_exit"
    hangs_on = "occasion"

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        inner(fields, cls.key).finish()
        return cls()

    def to_data(self) -> dict[str, object]:
        return {self.key: {}}

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        for i, stay in enumerate(day.stays):
            end = day.end_of(stay)
            if end is None or _over(day, history, i, end):
                continue
            if history.since(end - EARLY):
                continue
            opens = end - LEAD
            facts = (*stay_facts(day, stay), window_of_days(opens, end))
            return WindowResult((DayWindow(self.key, opens, end, why=facts),))
        stored = () if day.open_stay is None else stay_facts(day, day.open_stay)
        return WindowResult(idle=(*stored, Fact("no_stay_end", {})))

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return Decimal(1)


def _over(day: RigTimeline, history: History, i: int, end: date) -> bool:
    """Whether an ended stay asks for nothing more: the next has begun, or the item was
    taken on later."""
    if day.stays[i].until is None:
        return False
    taken_on = history.item.taken_on
    if taken_on is not None and end < taken_on:
        return True
    return any(later.start <= day.as_of for later in day.stays[i + 1 :])


KIND = StorageExit
