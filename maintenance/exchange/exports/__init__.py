"""Taking everything out: tables, files and a manifest, for one household."""
