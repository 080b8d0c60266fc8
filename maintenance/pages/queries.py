"""What the pages that show several apps together need, each in a few queries."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Count

from maintenance.findings.fitness import Fitness, fitness_of
from maintenance.households.models import Household
from maintenance.plans.queries import DUE_PAGE, due_standings
from maintenance.vehicles.models import Rig
from maintenance.vehicles.queries import rigs_of
from maintenance.vehicles.state import STATE_ROWS, RigState, state_of


@dataclass(frozen=True)
class Waiting:
    """What of a household waits for somebody and is no work on a rig."""

    unfiled: int  # photos
    stopped: list[str]  # addresses that a mail server refused for good


def what_waits(household: Household) -> Waiting:
    """In one query: a row per stopped address, or one without, each with the count."""
    rows = (
        Household.objects.filter(pk=household.pk)
        .values_list("stopped_addresses__address")
        .annotate(unfiled=Count("snaps", distinct=True))
        .order_by("stopped_addresses__address")
    )
    stopped = [address for address, _unfiled in rows if address is not None]
    return Waiting(max((unfiled for _address, unfiled in rows), default=0), stopped)


@dataclass(frozen=True)
class RigSummary:
    """A rig in the list: `first` is its most urgent job with its standing."""

    rig: Rig
    counts: list[tuple[str, int]]
    first: tuple[str, str] | None
    fitness: Fitness | None
    state: RigState


def rig_summaries(household: Household, today: date) -> list[RigSummary]:
    """Each rig with how many items stand where and what stops it, in a fixed number of
    queries."""
    counts: dict[int, Counter[str]] = defaultdict(Counter)
    first: dict[int, tuple[str, str]] = {}
    fitness = fitness_of(household, today)
    for rig_id, standing, title in due_standings(household).values_list(
        "item__rig_id", "standing", "item__title"
    ):
        counts[rig_id][standing] += 1
        first.setdefault(rig_id, (standing, title))
    rigs = rigs_of(household).select_related("photo")
    return [
        RigSummary(
            rig=rig,
            counts=[(n, counts[rig.pk][n]) for n in DUE_PAGE if counts[rig.pk][n]],
            first=first.get(rig.pk),
            fitness=fitness.get(rig.pk),
            state=state_of(rig, today),
        )
        for rig in rigs.prefetch_related(*STATE_ROWS)
    ]
