"""Forms about plans: setting up, the past, rules, the maker's figure, own words."""

from .baselines import BaselinesForm
from .maker import MakerForm
from .own import OwnProcedureForm
from .rules import RulesForm
from .setup import DeferForm, DropForm, EquipmentForm, PlanForm

__all__ = [
    "BaselinesForm",
    "DeferForm",
    "DropForm",
    "EquipmentForm",
    "MakerForm",
    "OwnProcedureForm",
    "PlanForm",
    "RulesForm",
]
