"""Whether all is well: quick checks for pages, thorough ones for the night and for
`manage.py checkup`. Each says what is wrong and what to do."""
