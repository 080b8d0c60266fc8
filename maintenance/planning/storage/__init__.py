"""A stay of a rig: what it asks for at its start, while it lasts, and at its end."""
