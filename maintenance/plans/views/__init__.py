"""The pages of plans: setting up, one item, its past and its figures, the library."""

from .doing import item, keep_sheet
from .figures import change_rules, maker_figure, settle_offer
from .library import library
from .needs import asked_for, stop_using, use_supply
from .own import change_procedure, write_procedure
from .pages import point_to_page, remove_page
from .papers import paper_date
from .past import baselines, state_baseline
from .putting_off import defer, drop_item
from .setup import propose_plan, rig_equipment, rig_plan
from .spots import rig_spots, tell_spot

__all__ = [
    "asked_for",
    "baselines",
    "change_procedure",
    "change_rules",
    "defer",
    "drop_item",
    "item",
    "keep_sheet",
    "library",
    "maker_figure",
    "paper_date",
    "point_to_page",
    "propose_plan",
    "remove_page",
    "rig_equipment",
    "rig_plan",
    "rig_spots",
    "settle_offer",
    "state_baseline",
    "stop_using",
    "tell_spot",
    "use_supply",
    "write_procedure",
]
