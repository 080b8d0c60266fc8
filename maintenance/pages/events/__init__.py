"""What happened to a rig: told, listed, and put right."""
