"""Faults that strike a data folder; a module each, found by `tests/faults/table.py`."""
