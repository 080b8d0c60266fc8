"""The pages of plans: setting up, one item, its past and its figures, the library."""

from .figures import change_rules, maker_figure, settle_offer
from .item import defer, drop_item, item
from .library import library
from .own import change_procedure, write_procedure
from .past import baselines, state_baseline
from .setup import propose_plan, rig_equipment, rig_plan

__all__ = [
    "baselines",
    "change_procedure",
    "change_rules",
    "defer",
    "drop_item",
    "item",
    "library",
    "maker_figure",
    "propose_plan",
    "rig_equipment",
    "rig_plan",
    "settle_offer",
    "state_baseline",
    "write_procedure",
]
