"""Triggers: the rules that say when an item is due, and the windows they give."""

from maintenance.core.triggers.parsing import EVENT_KINDS, parse_triggers
from maintenance.core.triggers.writing import trigger_to_data

__all__ = ["EVENT_KINDS", "parse_triggers", "trigger_to_data"]
