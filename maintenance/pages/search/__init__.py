"""Search over guides, procedures, calculators, records, findings and manuals."""
