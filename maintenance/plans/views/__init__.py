"""The pages of plans: setting up, an item's past and its figures, the library."""

from .figures import change_rules, maker_figure, settle_offer
from .library import library
from .own import change_procedure, write_procedure
from .papers import paper_date
from .past import baselines, state_baseline
from .putting_off import defer, drop_item
from .setup import propose_plan, rig_equipment, rig_plan

__all__ = [
    "baselines",
    "change_procedure",
    "change_rules",
    "defer",
    "drop_item",
    "library",
    "maker_figure",
    "paper_date",
    "propose_plan",
    "rig_equipment",
    "rig_plan",
    "settle_offer",
    "state_baseline",
    "write_procedure",
]
