"""Meters: which readings are good, and what a meter had on a day."""

from maintenance.core.meters.explain import explain_doubtful
from maintenance.core.meters.towed import is_towed, track_towed
from maintenance.core.meters.track import Track, track_meter

__all__ = [
    "Track",
    "explain_doubtful",
    "is_towed",
    "track_meter",
    "track_towed",
]
