"""Findings are tried by the same people, on the same rig, as walk-arounds."""

from tests.walkrounds.conftest import crew, keeper, rig

__all__ = ["crew", "keeper", "rig"]
