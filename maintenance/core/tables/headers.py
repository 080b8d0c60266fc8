"""Which row names the columns, and what each column is likely to hold."""

import re
from collections.abc import Mapping, Sequence
from typing import Literal, get_args

from maintenance.core.tables.text import Cell, Table

Field = Literal[
    "on", "until", "what", "outcome", "odometer", "engine", "generator", "doer",
    "place", "invoice", "labor", "parts", "tax", "total", "note", "notes",
    "measured",
]  # fmt: skip
FIELDS: tuple[Field, ...] = get_args(Field)

_LOOKED_AT = 15  # rows among which the one that names the columns is sought

# Words of a column's name -> what it holds; the first that fits counts. Every name
# that `taking out` writes is among them, so that what was taken out can come in again.
_WORDS: tuple[tuple[str, Field], ...] = (
    (r"(or )?until|to|end|end date|last day|finished( on)?", "until"),
    (r"(done |service )?(on|date|day)|date done|done on|when|date of (service|work)"
     r"|completed( on)?", "on"),
    (r"labou?r( cost)?|work cost", "labor"),
    (r"parts?( cost)?|materials?( cost)?", "parts"),
    (r"(sales )?tax(es)?|vat|gst", "tax"),
    (r"total( cost| price)?|cost|price|amount|paid|charge|sum", "total"),
    (r"(engine|motor) (hours?|h|hrs?)|hours", "engine"),
    (r"(generator|genset) (hours?|h|hrs?)", "generator"),
    (r"odometer( reading)?|mileage|miles|mi|km|kms|kilomet(er|re)s|distance|reading",
     "odometer"),
    (r"invoice( or record)?( no| number| #|)?|receipt( no| number| #)?|bill( no)?"
     r"|record( no| number)?|work order|order no|ref(erence)?", "invoice"),
    (r"outcome|result|how it went", "outcome"),
    (r"(done|performed|serviced) by|shop|vendor|garage|mechanic|technician|by|who"
     r"|dealer|provider|name of the person or shop", "doer"),
    (r"measured( values?)?|measurements?", "measured"),
    (r"where|place|location|city|town", "place"),
    (r"job note|line note", "note"),
    (r"notes?|remarks?|comments?|details", "notes"),
    (r"what( was done)?|work( done)?|jobs?|service( done| type)?|description|task"
     r"|item|maintenance|repair|title|operation|procedure|category|type", "what"),
)  # fmt: skip


def plain_header(text: Cell) -> str:
    """A column's name as it is compared: `Odometer (mi)` and `odometer` are one."""
    words = re.sub(r"\(.*?\)|\[.*?\]", " ", str(text)).casefold()
    return " ".join(re.sub(r"[^\w#]+|_", " ", words).split())


def find_header(table: Table) -> int | None:
    """The index of the row that names the columns, or None where no row does.

    It is the first row with the most names known here, at least two of them; else the
    first row, if it is full of words and the next one has a figure.
    """
    known = [_known(row) for row in table.rows[:_LOOKED_AT]]
    best = max(known, default=0)
    if best >= 2:
        return known.index(best)
    first = table.rows[0]
    in_words = all(isinstance(c, str) and c and not re.search(r"\d", c) for c in first)
    if in_words and len(table.rows) > 1 and _has_figure(table.rows[1]):
        return 0
    return None


def propose_fields(
    names: Sequence[str], remembered: Mapping[str, str]
) -> dict[int, Field]:
    """Column → what it holds, each at most once; what was chosen before goes first."""
    found: dict[int, Field] = {}
    plain = [plain_header(name) for name in names]
    for n, name in enumerate(plain):
        if name in remembered:
            _take(found, n, remembered[name])
    for n, name in enumerate(plain):
        if name not in remembered:
            _take(found, n, _field_of(name))
    return found


def _take(found: dict[int, Field], column: int, field: str | None) -> None:
    match = next((one for one in FIELDS if one == field), None)
    if match is not None and match not in found.values():
        found[column] = match


def _field_of(name: str) -> Field | None:
    for words, field in _WORDS:
        if re.fullmatch(words, name):
            return field
    return None


def _known(row: Sequence[Cell]) -> int:
    return len({f for c in row if (f := _field_of(plain_header(c))) is not None})


def _has_figure(row: Sequence[Cell]) -> bool:
    return any(isinstance(c, str) is False or re.search(r"\d", str(c)) for c in row)
