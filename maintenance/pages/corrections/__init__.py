"""Pages that put a record right, and the page that verifies the chain."""
