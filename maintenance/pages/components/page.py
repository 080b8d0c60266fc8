"""What the pages of parts show, read in a fixed number of queries."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from maintenance.components.models import Component, ComponentKind
from maintenance.components.queries import parts_of
from maintenance.households.models import ActivityEntry
from maintenance.plans.aging import Aging, aging_of
from maintenance.plans.life_list import LifeRow, life_list
from maintenance.plans.queries import plan_of
from maintenance.vehicles.models import Rig

LOGGED = 20  # corrections shown


def changes_of_fittings(component: Component) -> list[ActivityEntry]:
    """What was corrected and withdrawn of where it was, with what it said before."""
    acts = ["corrected installation", "withdrew installation"]
    rows = ActivityEntry.objects.filter(what__in=acts, household=component.household)
    rows = rows.filter(about__contains=f": {component.what} on ")
    return list(rows.select_related("member")[:LOGGED])


@dataclass(frozen=True, slots=True)
class PartsPage:
    groups: list[tuple[str, list[LifeRow]]]
    aging: Aging | None
    aside: list[Component]
    scrapped: list[Component]


def parts_page(rig: Rig, today: date) -> PartsPage:
    groups: dict[str, list[LifeRow]] = defaultdict(list)
    found = parts_of(rig)
    for row in life_list(found, today):
        groups[str(ComponentKind(row.component.kind).label)].append(row)
    plan = plan_of(rig).select_related("item__component")
    return PartsPage(
        groups=list(groups.items()),
        aging=aging_of(plan, today),
        aside=found.aside,
        scrapped=found.scrapped,
    )
