"""The procedure library: data files read, checked and matched to a rig."""

from maintenance.plans.procedures.errors import LibraryError
from maintenance.plans.procedures.model import (
    EVERY_KIND,
    Change,
    Equipment,
    Library,
    Measure,
    OfComponent,
    PlaceLimit,
    Procedure,
    Source,
    Spot,
    System,
)
from maintenance.plans.procedures.order import run_order
from maintenance.plans.procedures.proposals import (
    LeftOut,
    Proposal,
    left_out,
    propose,
    resolve_triggers,
)
from maintenance.plans.procedures.reading import load_library, read_library

__all__ = [
    "EVERY_KIND",
    "Change",
    "Equipment",
    "LeftOut",
    "Library",
    "LibraryError",
    "Measure",
    "OfComponent",
    "PlaceLimit",
    "Procedure",
    "Proposal",
    "Source",
    "Spot",
    "System",
    "left_out",
    "load_library",
    "propose",
    "read_library",
    "resolve_triggers",
    "run_order",
]
