"""What a trigger finds: open windows, or what it lacks; what a cycle counts from."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from maintenance.core.facts import (
    Baseline,
    Carry,
    Completion,
    Event,
    Fact,
    Item,
    Outcome,
    TriggerKind,
    Values,
)
from maintenance.core.timeline import RigTimeline

COMPLETES: frozenset[Outcome] = frozenset({"done", "serviceable", "held", "moved"})


@dataclass(frozen=True, slots=True)
class DayWindow:
    """An unsatisfied window of days. `interval_days`: of a rule that comes into view
    late, the days whose third bounds the horizon."""

    kind: TriggerKind
    opens: date
    closes: date
    interval_days: int | None = None
    places: frozenset[str] | None = None
    why: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class ValueWindow:
    """An unsatisfied window of true values on `meter`, counted from the day `since`."""

    kind: TriggerKind
    meter: str
    opens: Decimal
    closes: Decimal
    since: date
    places: frozenset[str] | None = None
    why: tuple[Fact, ...] = ()


OpenWindow = DayWindow | ValueWindow


@dataclass(frozen=True, slots=True)
class MissingInput:
    """A window that cannot be given; `since` the day of the event that raised it."""

    kind: TriggerKind
    why: tuple[Fact, ...]
    since: date | None = None
    places: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class WindowResult:
    """What one trigger gives. `idle`: why it has no window, when it lacks nothing."""

    windows: tuple[OpenWindow, ...] = ()
    missing: tuple[MissingInput, ...] = ()
    idle: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Base:
    """What a cycle counts from: `kind` is done, renewed, in_service or stated;
    `event` is what renewed it."""

    kind: str
    on: date
    until: date | None
    values: Values
    carried: Carry | None = None
    event: str = ""


class History:
    """The completions of an item that renew it, by day, and its baseline; of an item
    per place those of one `place`."""

    def __init__(self, day: RigTimeline, item: Item, place: str = "") -> None:
        self.item = item
        self.place = place
        completing = [
            one
            for one in item.done
            if one.outcome in COMPLETES and self.touches(one.places)
        ]
        self.done: Sequence[Completion] = sorted(completing, key=lambda one: one.on)
        self._days = [one.on for one in self.done]
        events = day.events_of(item.renewed_by) if item.renewed_by else []
        since = item.fitted_on or date.min
        self.renewed: Sequence[Event] = sorted(
            (one for one in events if one.on >= since and self.touches(one.places)),
            key=lambda one: one.on,
        )
        stated = item.baseline
        self.baseline: Baseline | None = (
            day.rig.in_service if stated == "in_service" else stated
        )

    def touches(self, places: frozenset[str] | None) -> bool:
        """Whether what names these places (None: all) is of this history."""
        return not self.place or places is None or self.place in places

    @property
    def first_on(self) -> date | None:
        return self._days[0] if self._days else None

    @property
    def settled_on(self) -> date | None:
        """The day from which an item that is asked for once is settled: by the first
        work since the unit that it is about was last renewed."""
        if not self.item.once:
            return None
        since = self.renewed[-1].on if self.renewed else date.min
        return next((on for on in self._days if on >= since), None)

    @property
    def last_on(self) -> date | None:
        return self._days[-1] if self._days else None

    def since(self, day: date) -> bool:
        """Whether anything was completed on or after a day."""
        return bool(self._days) and self._days[-1] >= day

    def after_baseline(self) -> Sequence[Completion]:
        """Completions after the baseline's day; all without a baseline."""
        if self.baseline is None:
            return self.done
        return self.done[bisect_right(self._days, self.baseline.on) :]

    def last_of_day(self) -> Sequence[Completion]:
        """The completions of the last day on which there is one."""
        last = self.last_on
        return [] if last is None else [one for one in self.done if one.on == last]

    def base(self) -> Base | None:
        """The last completion, else the baseline."""
        return done_base(self.done[-1]) if self.done else self.baseline_base()

    def baseline_base(self) -> Base | None:
        if self.baseline is None:
            return None
        kind = "in_service" if self.item.baseline == "in_service" else "stated"
        base = self.baseline
        return Base(kind, base.on, None, base.values, base.carried)


def done_base(completion: Completion) -> Base:
    return Base(
        "done",
        completion.on,
        completion.until,
        completion.values,
        completion.carried,
    )


def renewed_base(event: Event) -> Base:
    return Base("renewed", event.on, None, event.values, event=event.kind)
