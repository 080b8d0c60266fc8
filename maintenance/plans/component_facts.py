"""Items of components as facts: what a part carries along from the rigs it was on."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from maintenance.components.models import Fitting
from maintenance.components.queries import Past, pasts_of, run_of
from maintenance.core import facts
from maintenance.core.timeline import RigTimeline
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import RigFacts, decimals

from .models import Completion

Base = facts.Baseline | Literal["in_service"] | None


@dataclass(frozen=True)
class PartPast:
    """`past` is None for a part that has been on this rig alone."""

    fittings: list[Fitting]
    past: Past | None

    @property
    def begun(self) -> Fitting:
        """Its present time on the rig."""
        return self.fittings[run_of(self.fittings)]

    def completion(self, row: Completion, fact: facts.Completion) -> facts.Completion:
        """Work done before it came here lies that far back on this rig's meters."""
        begun = self.begun
        same_day = row.on == begun.start and row.entered_at < begun.entered_at
        if self.past is None or not (row.on < begun.start or same_day):
            return fact
        return replace(fact, values={}, carried=self.past.carry_from(row.on))

    def baseline(self, base: Base) -> Base:
        """A part is in service from the day on which it was first fitted."""
        if base == "in_service":
            first = self.fittings[0]
            base = facts.Baseline(first.start, decimals(first.start_values))
        if base is None or self.past is None or base.on >= self.begun.start:
            return base
        return replace(base, values={}, carried=self.past.carry_from(base.on))

    def taken_on(self, day: date) -> date:
        """What happened to the rig before the part came does not concern it."""
        return day if self.past is None else max(day, self.begun.start)


def rigs_before(fittings: Mapping[int, list[Fitting]]) -> dict[int, Rig]:
    """The rigs that parts were on that have moved; meters are read for these alone."""
    moved = filter(run_of, fittings.values())
    return {row.rig_id: row.rig for rows in moved for row in rows}


def pasts_of_parts(
    fittings: Mapping[int, list[Fitting]], known: Mapping[int, RigFacts], as_of: date
) -> dict[int, PartPast]:
    """Component id -> its past; `known` has the rigs of `rigs_before`."""
    moved = {pk: rows for pk, rows in fittings.items() if run_of(rows)}
    days = {
        pk: RigTimeline(known[pk].without_items(), facts.Calendar(), as_of)
        for pk in rigs_before(moved)
    }
    pasts = pasts_of(moved, as_of, days)
    return {pk: PartPast(rows, pasts.get(pk)) for pk, rows in fittings.items()}
