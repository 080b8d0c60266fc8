"""What a kept figure serves: the runways of the rig's stays, and the interval of work
that hard water asks for sooner. The pages of jobs show it, too (`queries.py`)."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from maintenance.core.calculators.hardness import SCALE_FROM
from maintenance.households.models import Member
from maintenance.plans.models import PlanItem, RulesFrom
from maintenance.plans.queries import procedures_of
from maintenance.plans.services import change_rules, follow_library
from maintenance.vehicles.models import Rig
from maintenance.vehicles.rhythm import set_runways
from maintenance.vehicles.runways import WHICH

from .subjects.water import hardness_of

Typed = Mapping[str, Any]  # the cleaned data of a calculator's form


def serve(rig: Rig, key: str, data: Typed, *, by: Member, today: date) -> list[str]:
    """Let it serve, and say in words what it changed."""
    served = SERVES.get(key)
    return served(rig, data, by, today) if served else []


def _standing_draw(rig: Rig, data: Typed, by: Member, today: date) -> list[str]:
    """A measured one rules over the listed drains."""
    which, amps = data["battery"], data["measured"]
    if amps is None or which not in WHICH:
        return []
    set_runways(rig, by=by, today=today, **{f"{which}_drain": amps})
    return [f"{rig}'s storage now uses it as the draw on the {which} battery."]


def _hardness(rig: Rig, data: Typed, by: Member, today: date) -> list[str]:
    """Work that hard water asks for sooner goes by it, and back again; an interval that
    somebody chose, or a manufacturer's, stays."""
    value = hardness_of(data)
    if value is None:
        return []
    hard, said = value > SCALE_FROM, []
    known = procedures_of(rig.household)
    for item in PlanItem.objects.active().filter(rig=rig).order_by("title"):
        procedure = known.get(item.key)
        months = procedure.hard_water_months if procedure else 0
        rules = [{"every": {"months": months}}]
        sooner = hard and item.rules_from == RulesFrom.LIBRARY
        back = not hard and item.rules_from == RulesFrom.OWN and item.triggers == rules
        if not months or not (sooner or back):
            continue
        if not by.is_keeper:
            said.append(f"Ask a keeper to set “{item.title}” for your water.")
        elif sooner:
            change_rules(item, by=by, today=today, rules=rules)
            said.append(f"Hard water: “{item.title}” is now every {months} months.")
        else:
            follow_library(item, by=by, today=today)
            said.append(f"“{item.title}” is back on its usual interval.")
    return said


SERVES: Mapping[str, Callable[[Rig, Typed, Member, date], list[str]]] = {
    "battery_standing": _standing_draw,
    "water_hardness": _hardness,
}
