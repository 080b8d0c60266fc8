"""Standings as jobs to be bundled: their windows in days, and what they share."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from maintenance.core.bundling import Job
from maintenance.library.model import Procedure, Spot
from maintenance.plans.models import Standing, StandingName
from maintenance.plans.stored import day_of
from maintenance.supplies.matching import (
    asks_for_torque_wrench,
    head_text,
    is_at_hand,
    same_thing,
)

ASKING = (
    StandingName.OVERDUE,
    StandingName.DUE,
    StandingName.SOON,
    StandingName.LATER,
)
WHEELS_OFF = "wheel_off"
# At hand for any work: that two jobs ask for these is no reason to do them together.
EVERYDAY = (
    "Flashlight",
    "Gloves",
    "Goggles",
    "Eye protection",
    "Mirror",
    "Rag",
    "Soft brush",
    "Towel",
    "Vacuum",
    "Screwdriver",
)


@dataclass(frozen=True, slots=True)
class Asked:
    """A standing with its procedure, and the job that it is."""

    standing: Standing
    procedure: Procedure | None
    job: Job


def jobs_of(
    standings: Iterable[Standing],
    procedures: Mapping[str, Procedure],
    spots: Mapping[str, Spot],
) -> Iterator[Asked]:
    """Those with a window in days. A check before a trip has its day on the trip's
    sheet, and is left out."""
    places = _places(spots)
    for standing in standings:
        window = window_days(standing)
        if window is None or standing.governing == "before_trip":
            continue
        procedure = procedures.get(standing.item.key)
        opens, closes = window
        yield Asked(
            standing,
            procedure,
            Job(
                key=standing.item_id,
                opens=opens,
                closes=closes,
                shop=procedure is not None and procedure.by_shop,
                shares=frozenset(_shares(standing, procedure, places)),
                minutes=procedure.minutes if procedure else 0,
            ),
        )


def window_days(standing: Standing) -> tuple[date, date] | None:
    """On a meter the likely day of opening, and the early day of closing where that is
    later, so that the work is not late when the rig is used more than usual."""
    window, dates = standing.window, standing.forecast
    opens = day_of(window.opens) if window else None
    closes = day_of(window.closes) if window else None
    if dates is not None:
        opens = opens or dates.opens.likely
        early = dates.closes.early
        closes = closes or (
            early if early and opens and early > opens else dates.closes.likely
        )
    if closes is None:
        return None
    opens, closes = _put_off(standing, min(opens or closes, closes), closes)
    return opens, closes


def _put_off(standing: Standing, opens: date, closes: date) -> tuple[date, date]:
    until = standing.deferred_until
    return (max(opens, until), max(closes, until)) if until else (opens, closes)


# --- what jobs have in common ---------------------------------------------------------


def _places(spots: Mapping[str, Spot]) -> dict[str, list[str]]:
    """Procedure -> the places of a rig that it opens up."""
    found: dict[str, list[str]] = {}
    for spot in spots.values():
        for key in spot.procedures:
            found.setdefault(key, []).append(spot.title)
    return found


def _shares(
    standing: Standing, procedure: Procedure | None, places: Mapping[str, list[str]]
) -> Iterator[str]:
    """In words, so that the page can say them: access to a rig by the rig's name, a
    tool by its own."""
    if procedure is None:
        return
    rig = standing.item.rig.name
    if WHEELS_OFF in procedure.raises:
        yield f"wheels off {rig}"
    for title in places.get(procedure.key, ()):
        yield f"{title[:1].lower() + title[1:]} of {rig}"
    for asked in procedure.tools:
        yield from _tool(asked)


def _tool(asked: str) -> Iterator[str]:
    name = "torque wrench" if asks_for_torque_wrench(asked) else head_text(asked)
    if is_at_hand(asked) or any(same_thing(name, one) for one in EVERYDAY):
        return
    yield name[:1].lower() + name[1:]
