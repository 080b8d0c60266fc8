"""The chain of a rig's records: linking, verifying, and what it says of amendments."""
