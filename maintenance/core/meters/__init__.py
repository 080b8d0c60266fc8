"""Meters: which readings are good, and what a meter had on a day."""

from maintenance.core.meters.gate import (
    LOOKED_AT,
    LOOKED_AT_AFTER,
    Intended,
    Verdict,
    is_long,
    judge_value,
)
from maintenance.core.meters.runs import RunTrack, track_runs
from maintenance.core.meters.towed import TowedTrack, is_towed, track_towed
from maintenance.core.meters.track import Track, track_meter
from maintenance.core.meters.wheels import WheelTrack, track_wheels

__all__ = [
    "LOOKED_AT",
    "LOOKED_AT_AFTER",
    "Intended",
    "RunTrack",
    "TowedTrack",
    "Track",
    "Verdict",
    "WheelTrack",
    "is_long",
    "is_towed",
    "judge_value",
    "track_meter",
    "track_runs",
    "track_towed",
    "track_wheels",
]
