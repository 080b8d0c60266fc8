"""Telling of components: fitted, moved, the ratings of the axles."""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from maintenance.components.services import rate_axles
from maintenance.plans import services as plans

from .rigs import decimals
from .rows import MoveStory, PartStory, columns
from .story import RigStory
from .told import Told

WEEKDAYS = 7


def fit(told: Told, rig: RigStory, row: PartStory, today: date) -> None:
    for place in row.places or [row.place]:
        made = plans.add_part(
            told.rig(rig),
            by=told.members[rig.hand],
            today=today,
            on=today,
            kind=row.kind,
            type=row.type,
            place=place,
            keys=row.keys,
            values=decimals(row.at),
            serial=_serial(told, row),
            **dict(_months(told, row)),
            **columns(row.about),
        )
        for item in made.plan_items.all():
            told.of_parts[rig.key, item.key].append(item)
        if row.key:
            told.parts[row.key] = made


def _serial(told: Told, row: PartStory) -> str:
    """A tire's number ends with week and year of making."""
    if row.week is None:
        return row.serial
    return row.serial + week_code(told.on(row.week))


def week_code(day: date) -> str:
    """The date code of 49 CFR 574.5 for a day: the Sunday that its week begins with is
    counted from the first Sunday of its year."""
    sunday = day - timedelta(days=day.isoweekday() % WEEKDAYS)
    week = (sunday.timetuple().tm_yday - 1) // WEEKDAYS + 1
    return f"{week:02}{sunday:%y}"


def _months(told: Told, row: PartStory) -> Iterator[tuple[str, Any]]:
    for name in ("made", "tested"):
        day = getattr(row, name)
        if day is not None:
            yield name, f"{told.on(day):%Y-%m}"


def move(told: Told, rig: RigStory, row: MoveStory, today: date) -> None:
    """To this rig, from wherever it is."""
    plans.move_part(
        told.parts[row.part],
        by=told.members[rig.hand],
        today=today,
        rig=told.rig(rig),
        place=row.place,
        on=today,
    )


def rate(told: Told, rig: RigStory, today: date) -> None:
    ratings = {n: Decimal(figure) for n, figure in enumerate(rig.axles, 1)}
    rate_axles(told.rig(rig), by=told.members["keeper"], unit="lb", ratings=ratings)
