"""The service history of a rig: rows in, text ready to be set out."""
