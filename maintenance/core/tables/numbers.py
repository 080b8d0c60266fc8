"""Numbers in cells: decimal comma or point, told by the data or left open."""

import re
from collections.abc import Iterable
from decimal import Decimal

from maintenance.core.tables.text import Cell
from maintenance.core.units import UnitError, parse_number

# Signs and letters of money before or after a figure: $, €, £, USD, "Fr."
_MONEY = re.compile(r"^[^\d+\-.,']*|[^\d]*$")


def number_of(cell: Cell, *, decimal_comma: bool) -> Decimal | None:
    """The figure in a cell, without the words around it; None for an empty cell.

    `UnitError` says what is wrong. Units are for the caller: the words are dropped.
    """
    if isinstance(cell, Decimal):
        return cell
    text = _MONEY.sub("", cell.strip())
    if not text:
        if cell.strip():
            raise UnitError(f"“{cell.strip()[:40]}” isn't a number.")
        return None
    # An empty fraction as some shops write it: 120.- or 120,-
    return parse_number(text.rstrip(".,"), decimal_comma=decimal_comma)


def open_numbers(cells: Iterable[Cell]) -> tuple[bool | None, list[str]]:
    """Whether the cells use a decimal comma, and up to two examples.

    True or False where the cells themselves tell, or none depends on it (False); None
    where they leave it open or contradict each other. The examples are then cells that
    read differently either way.
    """
    doubtful: list[str] = []
    votes: set[bool] = set()
    for cell in cells:
        if not isinstance(cell, str):
            continue
        text = _MONEY.sub("", cell.strip())
        readings = _both(text)
        if readings is None:
            continue
        if readings[0] != readings[1]:
            doubtful.append(cell.strip())
        elif (mark := _decimal_mark(text)) is not None:
            votes.add(mark == ",")
    if not doubtful:
        return False, []
    examples = list(dict.fromkeys(doubtful))[:2]
    return (votes.pop(), examples) if len(votes) == 1 else (None, examples)


def _both(text: str) -> tuple[Decimal, Decimal] | None:
    try:
        point = parse_number(text, decimal_comma=False)
        return point, parse_number(text, decimal_comma=True)
    except UnitError:
        return None


def _decimal_mark(text: str) -> str | None:
    """The mark that can only be a decimal mark here, or None."""
    used = [sign for sign in text if sign in ".,"]
    if not used:
        return None
    if used.count(used[-1]) > 1:
        return "," if used[-1] == "." else "."
    return used[-1]
