"""Jobs that the library split off from others: whoever had the whole gets the part."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from maintenance.library.model import Procedure
from maintenance.library.proposals import propose
from maintenance.library.reading import load_library
from maintenance.plans.models import PlanItem

from .items import columns_of, meters_of

NAMED = 3  # rigs, in a sentence
# What was answered of the whole.
SAME = (
    "dropped_on",
    "why_dropped",
    "baseline",
    "baseline_on",
    "baseline_values",
    "baseline_asked_on",
)


@dataclass(frozen=True, slots=True)
class SplitOff:
    """`whole` is the item of which the procedure was a part when it was answered."""

    whole: PlanItem
    procedure: Procedure


def split_off() -> list[SplitOff]:
    """What plans lack, dropped items answered for too. A part that has an item of its
    own on the rig, be it left out, was answered."""
    known = load_library().procedures.values()
    parts = [procedure for procedure in known if procedure.split_from]
    keys = {key for part in parts for key in (part.key, part.split_from)}
    items: dict[int, dict[str, PlanItem]] = defaultdict(dict)
    rows = PlanItem.objects.filter(key__in=keys, component=None)
    rows = rows.select_related("rig__household").prefetch_related("rig__meters")
    for item in rows.order_by("rig__name", "rig"):
        items[item.rig_id][item.key] = item
    return [one for of_rig in items.values() for one in _lacking(of_rig, parts)]


def _lacking(
    items: dict[str, PlanItem], parts: Sequence[Procedure]
) -> Iterator[SplitOff]:
    lacking = [x for x in parts if x.split_from in items and x.key not in items]
    if not lacking:
        return
    rig = next(iter(items.values())).rig
    about = {"kind": rig.kind, "equipment": rig.equipment, "meters": meters_of(rig)}
    fitting = {one.procedure.key for one in propose(load_library(), **about)}
    for part in lacking:
        if part.key in fitting:
            yield SplitOff(items[part.split_from], part)


@transaction.atomic
def take_on_split_off(found: Sequence[SplitOff], now: datetime) -> list[str]:
    """Put them on with the answers of the whole: one that was dropped stays off. In
    words what is new. The standings are the caller's to renew."""
    new: dict[str, list[str]] = defaultdict(list)
    for one in found:
        item = _take_on(one, now)
        if item.dropped_on is None:
            new[item.title].append(str(item.rig))
    return [
        f"New on the plan of {_names(rigs)}: {title}. It used to be part of "
        "another job."
        for title, rigs in new.items()
    ]


def _take_on(one: SplitOff, now: datetime) -> PlanItem:
    """It answers for nothing before today: the whole did."""
    whole = one.whole
    columns = columns_of(one.procedure, meters_of(whole.rig))
    columns |= {name: getattr(whole, name) for name in SAME}
    today = whole.rig.household.today(now)
    return PlanItem.objects.create(rig=whole.rig, taken_on=today, **columns)


def _names(rigs: Sequence[str]) -> str:
    """“Wren”, “Wren and Mule”, “Ash, Elm, Oak and 4 more”."""
    more = len(rigs) - NAMED
    named = [*rigs[:NAMED], f"{more} more"] if more > 0 else list(rigs)
    start = ", ".join(named[:-1])
    return f"{start} and {named[-1]}" if start else named[-1]
