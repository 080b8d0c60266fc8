"""A rig's parts: what is on it, how long each has lived, and its tires on a plan."""
