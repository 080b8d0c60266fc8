"""The page of a job: its work sheet, supplies, pages of manuals, places on the rig."""

from .job import item, keep_sheet
from .manual_pages import point_to_page, remove_page
from .needs import asked_for, stop_using, use_supply
from .spots import rig_spots, tell_spot

__all__ = [
    "asked_for",
    "item",
    "keep_sheet",
    "point_to_page",
    "remove_page",
    "rig_spots",
    "stop_using",
    "tell_spot",
    "use_supply",
]
