"""Reading components: lists, where they were, and what use they have had."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q, QuerySet

from maintenance.core import facts
from maintenance.core.components import DISTANCE, Fitted, carry, present_run, used
from maintenance.core.timeline import RigTimeline
from maintenance.vehicles.models import HOUR_METERS, Rig
from maintenance.vehicles.queries import decimals, use_facts

from .models import Component, ComponentKind, Fitting


def components_on(rig: Rig) -> QuerySet[Component]:
    return rig.components.order_by("kind", "place", "pk")


@dataclass(frozen=True)
class PartsOfRig:
    on_rig: list[Component]
    aside: list[Component]  # of the household: neither on a rig nor scrapped
    scrapped: list[Component]  # that were on the rig once, the last first
    fittings: dict[int, list[Fitting]]


def parts_of(rig: Rig) -> PartsOfRig:
    """In two queries."""
    rows = Component.objects.for_household(rig.household).filter(
        Q(rig=rig) | Q(rig__isnull=True)
    )
    found = list(rows.select_related("household", "rig"))
    fittings = fittings_of(one.pk for one in found)
    scrapped = [
        one
        for one in found
        if one.scrapped_on
        and any(at.rig_id == rig.pk for at in fittings.get(one.pk, ()))
    ]
    return PartsOfRig(
        on_rig=[one for one in found if one.rig_id],
        aside=[one for one in found if not (one.rig_id or one.scrapped_on)],
        scrapped=sorted(scrapped, key=lambda x: (x.scrapped_on, x.pk), reverse=True),
        fittings=fittings,
    )


def fittings_of(components: Iterable[int]) -> dict[int, list[Fitting]]:
    """Component id -> where it was, oldest first; one query."""
    found = defaultdict(list)
    rows = Fitting.objects.filter(component__in=list(components), withdrawn=False)
    for row in rows.select_related("rig").order_by("start", "pk"):
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
    fittings: Mapping[int, list[Fitting]],
    as_of: date,
    known: Mapping[int, RigTimeline] | None = None,
) -> dict[int, Past]:
    """With the meters of every rig that they were on, in a fixed number of queries;
    `known` are those that were read before."""
    days = dict(known or {})
    rigs = {row.rig_id: row.rig for rows in fittings.values() for row in rows}
    unread = [rig for pk, rig in rigs.items() if pk not in days]
    for pk, one in use_facts(unread, as_of).items():
        days[pk] = RigTimeline(one.without_items(), facts.Calendar(), as_of)
    return {
        pk: Past(rows, [_fitted(row, days[row.rig_id]) for row in rows])
        for pk, rows in fittings.items()
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
