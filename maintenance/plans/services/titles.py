"""Jobs called as the library calls them now. Records keep the words of their day."""

from maintenance.components.models import Component
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem

LONGEST = 120
BATCH = 500


def part_title(title: str, component: Component | None) -> str:
    """“Replace the tire: left front tire”."""
    return f"{title}: {component}"[:LONGEST] if component else title


def follow_titles() -> None:
    """Another version of the library may call a job otherwise."""
    known = load_library().procedures
    rows = PlanItem.objects.filter(key__in=known)
    of_rigs = rows.filter(component=None)
    for key, title in [*of_rigs.values_list("key", "title").distinct().order_by()]:
        if title != known[key].title:
            of_rigs.filter(key=key, title=title).update(title=known[key].title)
    behind = []
    for item in rows.exclude(component=None).select_related("component"):
        title = part_title(known[item.key].title, item.component)
        if item.title != title:
            item.title = title
            behind.append(item)
    PlanItem.objects.bulk_update(behind, ["title"], batch_size=BATCH)
