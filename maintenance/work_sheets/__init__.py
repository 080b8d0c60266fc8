"""Doing an item's work: what it takes, where it is, the work sheet kept meanwhile."""
