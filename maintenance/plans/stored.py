"""What a stored standing says: the one reader of `Standing.result`.

It is written by `standing_to_data` of `core/output.py`.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from maintenance.core.facts import (
    Dates,
    MeterPoint,
    Pending,
    Point,
    Window,
    WindowDates,
)


def day_of(point: Point) -> date | None:
    """None for a value of a meter."""
    return point if isinstance(point, date) else None


def window_from_data(data: Any) -> Window | None:
    """The window of `standing_to_data`, or None where it had none."""
    if not data:
        return None
    return Window(_point_from(data["opens"]), _point_from(data["closes"]))


def pending_from_data(rows: Iterable[Any]) -> tuple[Pending, ...]:
    return tuple(
        Pending(
            one["kind"],
            Window(_point_from(one["opens"]), _point_from(one["closes"])),
            None if one["places"] is None else frozenset(one["places"]),
        )
        for one in rows
    )


def forecast_from_data(data: Any) -> WindowDates | None:
    if not data:
        return None
    return WindowDates(_dates_from(data["opens"]), _dates_from(data["closes"]))


def _point_from(data: Any) -> Point:
    if isinstance(data, str):
        return date.fromisoformat(data)
    return MeterPoint(data["meter"], Decimal(str(data["value"])))


def _dates_from(data: Mapping[str, str | None]) -> Dates:
    early, likely, late = (
        text and date.fromisoformat(text)
        for text in (data["early"], data["likely"], data["late"])
    )
    return Dates(early or None, likely or None, late or None)
