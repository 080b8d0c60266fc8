"""The departure lap and the first stop: what is looked at on every trip."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from maintenance.core.tripwork import TripLook
from maintenance.library.model import Procedure
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Rig, Trip


@dataclass(frozen=True, slots=True)
class Check:
    """`item` is None where it is not on the plan of the rig; `lap` its place in the
    lap, 0 for what does not belong to it."""

    lap: int
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
    # The lap is walked, on the plan of the rig or not.
    found += [
        _offered(trip.rig, one)
        for one in procedures.values()
        if one.lap and one.key not in has and _fits(one, trip.rig)
    ]
    return sorted(found, key=_order)


def _check(
    item: PlanItem,
    opens: date,
    done_on: date | None,
    procedures: Mapping[str, Procedure],
) -> Check:
    procedure = procedures.get(item.key)
    lap = procedure.lap if procedure else 0
    return Check(
        lap=lap,
        rig=item.rig,
        title=item.title,
        item=item,
        opens=opens,
        done_on=done_on,
        steps=procedure.steps if procedure and lap else (),
        cautions=procedure.cautions if procedure and lap else (),
        on_the_way=procedure is not None and procedure.on_the_way,
    )


def _offered(rig: Rig, procedure: Procedure) -> Check:
    return Check(
        procedure.lap,
        rig,
        procedure.title,
        None,
        None,
        None,
        procedure.steps,
        procedure.cautions,
        procedure.on_the_way,
    )


def _fits(procedure: Procedure, rig: Rig) -> bool:
    return procedure.suits(rig.kind)


def _order(check: Check) -> tuple[int, date, str]:
    return check.lap, check.opens or date.max, check.title
