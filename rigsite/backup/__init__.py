"""Backup of the whole program, tried as soon as it is made, and its restore."""
