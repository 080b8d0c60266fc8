"""Habits of meters, kept from one reckoning to the next: a row per meter."""

from collections import defaultdict
from collections.abc import Collection, Mapping

from maintenance.core.facts import KeptHabit
from maintenance.vehicles.models import Meter, Rig

from .models import MeterHabit

# rig id -> by the kind of its meters
Habits = Mapping[int, Mapping[str, KeptHabit]]


def kept_habits(rigs: Collection[Rig]) -> dict[int, dict[str, KeptHabit]]:
    rows = MeterHabit.objects.filter(meter__rig__in=rigs)
    found: dict[int, dict[str, KeptHabit]] = defaultdict(dict)
    for rig_id, kind, key, learned in rows.values_list(
        "meter__rig_id", "meter__kind", "key", "learned"
    ):
        found[rig_id][kind] = KeptHabit(key, learned)
    return found


def keep_habits(found: Habits, *, kept: Habits) -> None:
    """Keep what was learned anew; `kept` is what stands there already."""
    new = {
        (rig_id, kind): habit
        for rig_id, habits in found.items()
        for kind, habit in habits.items()
        if kept.get(rig_id, {}).get(kind) != habit
    }
    if not new:
        return
    meters = Meter.objects.filter(rig__in={rig_id for rig_id, _kind in new})
    rows = [
        MeterHabit(meter=meter, key=habit.key, learned=habit.learned)
        for meter in meters
        if (habit := new.get((meter.rig_id, meter.kind)))
    ]
    MeterHabit.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["meter"],
        update_fields=["key", "learned"],
    )
