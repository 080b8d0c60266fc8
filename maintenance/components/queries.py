"""Reading components: lists, where they were, and what use they have had."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from maintenance.core import facts
from maintenance.core.components import DISTANCE, Fitted, carry, present_run, used
from maintenance.core.timeline import RigTimeline
from maintenance.households.models import Household
from maintenance.vehicles.models import HOUR_METERS, Rig
from maintenance.vehicles.queries import decimals, rig_facts

from .models import Component, ComponentKind, Fitting


def components_on(rig: Rig) -> QuerySet[Component]:
    return rig.components.order_by("kind", "place", "pk")


def put_aside_of(household: Household) -> QuerySet[Component]:
    """Neither on a rig nor scrapped."""
    rows = Component.objects.for_household(household).in_service()
    return rows.filter(rig__isnull=True)


def scrapped_from(rig: Rig) -> QuerySet[Component]:
    """Those that were on the rig once and are scrapped, the last first."""
    rows = Component.objects.filter(
        fittings__rig=rig, fittings__withdrawn=False, scrapped_on__isnull=False
    )
    return rows.distinct().order_by("-scrapped_on", "-pk")


def fittings_of(components: Iterable[int]) -> dict[int, list[Fitting]]:
    """Component id -> where it was, oldest first; one query."""
    found = defaultdict(list)
    rows = Fitting.objects.filter(component__in=list(components), withdrawn=False)
    for row in rows.order_by("start", "pk"):
        found[row.component_id].append(row)
    return found


@dataclass(frozen=True)
class Past:
    """Where a component was, with the meters of those rigs."""

    fittings: list[Fitting]
    spans: list[Fitted]

    @property
    def run(self) -> int:
        """The index of the fitting with which its present time on a rig began."""
        return run_of(self.fittings)

    def carry_from(self, since: date) -> facts.Carry:
        return carry(self.spans, self.run, since=since)


def run_of(fittings: list[Fitting]) -> int:
    return present_run([(row.rig_id, row.start, row.end) for row in fittings])


def pasts_of(
    fittings: Mapping[int, list[Fitting]], household: Household, as_of: date
) -> dict[int, Past]:
    """With the meters of every rig that they were on, in a fixed number of queries."""
    ids = {row.rig_id for rows in fittings.values() for row in rows}
    days = rig_days(Rig.objects.filter(pk__in=ids), household, as_of)
    return {
        pk: Past(rows, [_fitted(row, days[row.rig_id]) for row in rows])
        for pk, rows in fittings.items()
    }


def rig_days(
    rigs: Iterable[Rig], household: Household, as_of: date
) -> dict[int, RigTimeline]:
    known = rig_facts(rigs, as_of)
    return {
        pk: RigTimeline(rig.without_items(), household.calendar, as_of)
        for pk, rig in known.items()
    }


def _fitted(row: Fitting, day: RigTimeline) -> Fitted:
    return Fitted(
        start=row.start,
        end=row.end,
        tracks=day.tracks,
        in_use=day.in_use,
        start_values=decimals(row.start_values),
        end_values=decimals(row.end_values),
    )


@dataclass(frozen=True, slots=True)
class Use:
    """What a component has had behind it: `value` None where no reading tells."""

    what: str  # `distance` or the kind of an hour meter
    value: Decimal | None
    unit: str


def uses_of(component: Component, past: Past, as_of: date) -> list[Use]:
    """Its own distance, and hours if it is no tire, over all rigs that it was on."""
    unit: facts.Unit = component.household.distance_unit  # type: ignore[assignment]
    found = [Use(DISTANCE, _used(past, DISTANCE, unit, as_of), unit)]
    if component.kind == ComponentKind.TIRE:
        return found
    for kind in sorted(HOUR_METERS):
        if any(kind in span.tracks for span in past.spans):
            found.append(Use(kind, _used(past, kind, "h", as_of), "h"))
    return found


def _used(past: Past, what: str, unit: facts.Unit, as_of: date) -> Decimal | None:
    value = used(past.spans, what, unit, since=None, until=as_of)
    return None if value is None else value.quantize(Decimal("0.1"))
