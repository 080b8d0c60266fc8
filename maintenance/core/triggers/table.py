"""Which function finds the windows of which kind of trigger."""

from maintenance.core.facts import (
    After,
    BeforeTrip,
    EveryMeter,
    EveryTime,
    Life,
    Season,
    StorageEntry,
    StorageExit,
    Trigger,
    WhileStored,
)
from maintenance.core.rigday import RigDay
from maintenance.core.triggers.after import after
from maintenance.core.triggers.dated import before_trip, life, season
from maintenance.core.triggers.every import every_meter, every_time
from maintenance.core.triggers.stays import storage_entry, storage_exit, while_stored
from maintenance.core.triggers.windows import Found, History


def find_windows(day: RigDay, history: History, trigger: Trigger) -> Found:
    """The open windows of one trigger of an item, or what it lacks."""
    match trigger:
        case EveryMeter():
            found = every_meter(day, history, trigger)
        case EveryTime():
            found = every_time(day, history, trigger)
        case Season():
            found = season(day, history, trigger)
        case StorageEntry():
            found = storage_entry(day, history, trigger)
        case WhileStored():
            found = while_stored(day, history, trigger)
        case StorageExit():
            found = storage_exit(day, history, trigger)
        case After():
            found = after(day, history, trigger)
        case BeforeTrip():
            found = before_trip(day, history, trigger)
        case Life():
            found = life(day, history, trigger)
    return found
