"""Every so many days while the rig is in a stay."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from maintenance.core.facts import Fact, Runway, Span
from maintenance.core.fields import Fields, as_count, as_flag
from maintenance.core.timeline import RigTimeline
from maintenance.core.triggers.cycles import lead_days
from maintenance.core.triggers.kind import Kind, Units, YearOfUse
from maintenance.core.triggers.plain import MOST_DAYS_NEAR, inner, too_long
from maintenance.core.triggers.stays import stay_facts
from maintenance.core.triggers.windows import DayWindow, History, WindowResult
from maintenance.core.why import happened, window_of_days


@dataclass(frozen=True, slots=True)
class WhileStored(Kind):
    """`runway` is none of the rule's own: the stay brings it, and it only shortens.

    What is not asked of a winterized rig is work with its water, and that is not asked
    where its water freezes either."""

    key = "while_stored"
    hangs_on = "occasion"
    days: int
    unless_winterized: bool = False
    runway: Runway | None = None

    @classmethod
    def parse(cls, fields: Fields, units: Units | None) -> Self:
        found = inner(fields, cls.key)
        place = found.at("days")
        days = as_count(found.take("days"), place, 1, MOST_DAYS_NEAR, "days")
        dry = found.get("unless_winterized")
        unless = dry is not None and as_flag(dry, found.at("unless_winterized"))
        found.finish()
        return cls(days, unless)

    def to_data(self) -> dict[str, object]:
        dry = {"unless_winterized": True} if self.unless_winterized else {}
        return {self.key: {"days": self.days, **dry}}

    def windows(self, day: RigTimeline, history: History) -> WindowResult:
        """Inside the open stay alone."""
        stay = day.open_stay
        if stay is None:
            return WindowResult(idle=(Fact("not_stored", {}),))
        stored = stay_facts(day, stay)
        if self.unless_winterized and stay.winterized:
            return WindowResult(idle=(*stored, Fact("winterized", {})))
        if self.unless_winterized and stay.freezes:
            return WindowResult(idle=(*stored, Fact("freezes", {})))
        base = history.base()
        since = stay.start if base is None else max(stay.start, base.on)
        closes, sooner = self._paced(since)
        end = day.end_of(stay)
        if end is not None and end < closes:
            return WindowResult(
                idle=(*stored, Fact("stay_ends_before", {"closes": closes}))
            )
        interval = (closes - since).days
        opens = closes - timedelta(days=lead_days(interval))
        done = (
            happened(
                base.kind, day, on=base.on, until=base.until, values={}, meter=None
            )
            if base is not None and base.on > stay.start
            else ()
        )
        facts = (
            *stored,
            *done,
            Fact("every_stored", {"days": self.days}),
            *sooner,
            window_of_days(opens, closes),
        )
        window = DayWindow(self.key, opens, closes, interval_days=interval, why=facts)
        return WindowResult((window,))

    def _paced(self, since: date) -> tuple[date, tuple[Fact, ...]]:
        """When it closes by the rule, or before that by the stay's runway, and why."""
        closes, runway = since + timedelta(days=self.days), self.runway
        if runway is None:
            return closes, ()
        # What was read on the day of the work counts: to look is not to charge.
        if runway.read_on is not None and runway.read_on >= since:
            by = runway.read_on + timedelta(days=runway.read_days)
            said = Fact("runway_read", {"on": runway.read_on, "days": runway.read_days})
        else:
            by = since + timedelta(days=max(runway.days, 1))
            said = Fact("runway_expected", {"days": max(runway.days, 1)})
        return (by, (said,)) if by < closes else (closes, ())

    def times_a_year(self, year: YearOfUse) -> Decimal:
        return Decimal(year.stored_days // self.days)

    def implausible(self) -> str | None:
        return too_long(Span(days=self.days))

    def in_stay(self, runway: Runway) -> Kind:
        return replace(self, runway=runway)


KIND = WhileStored
