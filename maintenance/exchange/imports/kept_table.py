"""A table as text, and back: as it lies on the disk, and as it comes from the process
that reads workbooks."""

import json
from decimal import Decimal
from typing import Any

from maintenance.core.tables import Cell, Table


def text_of(table: Table) -> str:
    rows = [[_as_json(cell) for cell in row] for row in table.rows]
    data = {"rows": rows, "numbers": table.numbers, "said": table.said}
    return json.dumps(data | {"since_1904": table.since_1904})


def table_in(text: str) -> Table:
    data = json.loads(text)
    return Table(
        rows=tuple(tuple(_from_json(cell) for cell in row) for row in data["rows"]),
        numbers=tuple(data["numbers"]),
        said=tuple(data["said"]),
        since_1904=data["since_1904"],
    )


def _as_json(cell: Cell) -> Any:
    """A number is kept as a list of one, so that text that looks like one is not."""
    return [str(cell)] if isinstance(cell, Decimal) else cell


def _from_json(cell: Any) -> Cell:
    return Decimal(cell[0]) if isinstance(cell, list) else str(cell)
