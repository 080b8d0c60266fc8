"""What is due because a trailer was probably towed so far, though nobody told: asked
about, and silent for a while once somebody said that it was not."""

from collections.abc import Iterable
from datetime import date

from maintenance.core.notices import counts_towed
from maintenance.households.models import Household
from maintenance.vehicles import not_towed
from maintenance.vehicles.not_towed import TowedSince, asks_towed
from maintenance.vehicles.state import state_of

from .models import Standing, StandingName
from .queries import standings_of


def towed_questions(household: Household, today: date) -> list[TowedSince]:
    """One for each rig with a safety item that is due so: an answer tells. On the road
    the odometer of its tow vehicle does."""
    due = standings_of(household).filter(
        standing=StandingName.DUE, expected=True, item__safety=True
    )
    rows = [row for row in due if counts_towed(row.window)]
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
    rigs = {
        row.item.rig_id for row in rows if row.expected and counts_towed(row.window)
    }
    return not_towed.silent_until(rigs, today) if rigs else {}
