"""Tables that people bring along: bytes of a text file → rows, and what a cell says.

Nothing is guessed where the data leave it open: whether 04/05/2024 is in April or in
May, and whether 1,234 is a thousand, is for the owner to say.
"""

from maintenance.core.tables.days import DayOrder, day_of, open_days
from maintenance.core.tables.headers import Field, find_header, propose_fields
from maintenance.core.tables.numbers import number_of, open_numbers
from maintenance.core.tables.text import Cell, Table, TableError, read_text, rows_of

__all__ = [
    "Cell",
    "DayOrder",
    "Field",
    "Table",
    "TableError",
    "day_of",
    "find_header",
    "number_of",
    "open_days",
    "open_numbers",
    "propose_fields",
    "read_text",
    "rows_of",
]
