"""What is due because a trailer was probably towed so far, though nobody told: asked
about, and silent for a while once somebody said that it was not."""

from collections.abc import Iterable
from datetime import date

from maintenance.core.notices import counts_towed
from maintenance.vehicles import not_towed
from maintenance.vehicles.not_towed import TowedSince, asks_towed
from maintenance.vehicles.state import state_of

from .models import Standing, StandingName


def towed_questions(standings: Iterable[Standing], today: date) -> list[TowedSince]:
    """One for each rig with a safety item among them that is due so: an answer tells.
    On the road the odometer of its tow vehicle does."""
    rows = [row for row in standings if row.item.safety and is_due_so(row)]
    silent = silent_until(rows, today)
    rigs = {row.item.rig_id: row.item.rig for row in rows}
    asked = [
        asks_towed(rig, today)
        for pk, rig in rigs.items()
        if pk not in silent and state_of(rig, today).name != "on_trip"
    ]
    return [one for one in asked if one is not None]


def silent_until(rows: Iterable[Standing], today: date) -> dict[int, date]:
    """Rig id -> the first day on which what is due so may be told of anew."""
    rigs = {row.item.rig_id for row in rows if is_due_so(row)}
    return not_towed.silent_until(rigs, today) if rigs else {}


def is_due_so(row: Standing) -> bool:
    due = row.standing == StandingName.DUE and row.expected
    return due and counts_towed(row.window)
