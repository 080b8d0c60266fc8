"""The service history of a rig: rows in, text ready to be set out."""

from .build import build_history
from .model import History, Proof

__all__ = ["History", "Proof", "build_history"]
