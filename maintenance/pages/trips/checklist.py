"""The departure lap and the first stop: what is looked at on every trip."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from maintenance.core.tripwork import TripLook
from maintenance.plans.models import PlanItem
from maintenance.plans.procedures import Procedure
from maintenance.vehicles.models import Rig, Trip

FIRST_STOP = "walk_first_stop"
# Whose steps stand on the sheet itself, in the order in which they are done; one that
# is not on the plan of the rig is shown all the same.
LAP = ("lug_look", "walk_lights", "walk_departure", FIRST_STOP)


@dataclass(frozen=True, slots=True)
class Check:
    """`item` is None where it is not on the plan of the rig."""

    key: str
    rig: Rig
    title: str
    item: PlanItem | None
    opens: date | None
    done_on: date | None
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    on_the_way: bool


def checks_of(
    trip: Trip,
    looks: Mapping[int, TripLook],
    items: Mapping[str, PlanItem],
    procedures: Mapping[str, Procedure],
) -> list[Check]:
    """Short ones first, by the day from which they may be done; the lap comes last."""
    found = [
        _check(items[one.key], one.opens, one.done_on, procedures)
        for look in looks.values()
        for one in look.checks
    ]
    has = {one.item.key for one in found if one.item and one.rig == trip.rig}
    found += [
        _offered(trip.rig, procedures[key])
        for key in LAP
        if key not in has and _fits(procedures.get(key), trip.rig)
    ]
    return sorted(found, key=_order)


def _check(
    item: PlanItem,
    opens: date,
    done_on: date | None,
    procedures: Mapping[str, Procedure],
) -> Check:
    procedure = procedures.get(item.key)
    told = procedure is not None and item.key in LAP
    return Check(
        key=item.key,
        rig=item.rig,
        title=item.title,
        item=item,
        opens=opens,
        done_on=done_on,
        steps=procedure.steps if procedure and told else (),
        cautions=procedure.cautions if procedure and told else (),
        on_the_way=item.key == FIRST_STOP,
    )


def _offered(rig: Rig, procedure: Procedure) -> Check:
    return Check(
        procedure.key,
        rig,
        procedure.title,
        None,
        None,
        None,
        procedure.steps,
        procedure.cautions,
        procedure.key == FIRST_STOP,
    )


def _fits(procedure: Procedure | None, rig: Rig) -> bool:
    return procedure is not None and (
        not procedure.kinds or rig.kind in procedure.kinds
    )


def _order(check: Check) -> tuple[int, date, str]:
    at = LAP.index(check.key) + 1 if check.key in LAP else 0
    return at, check.opens or date.max, check.title
