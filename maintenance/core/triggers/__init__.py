"""Triggers: the rules that say when an item is due, and the windows they give."""

from maintenance.core.triggers.events import EVENT_KINDS
from maintenance.core.triggers.kind import Kind
from maintenance.core.triggers.kinds import FOLLOW_UPS, KINDS
from maintenance.core.triggers.parsing import parse_triggers, trigger_to_data

__all__ = [
    "EVENT_KINDS",
    "FOLLOW_UPS",
    "KINDS",
    "Kind",
    "parse_triggers",
    "trigger_to_data",
]
