"""Bringing in a history: file → table → verdict per row → records."""
