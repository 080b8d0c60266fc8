"""How a table is to be read: its names, its columns, and what it leaves open."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from maintenance.core.tables import (
    Cell,
    Field,
    Table,
    find_header,
    open_days,
    open_numbers,
)

DISTANCE: tuple[Field, ...] = ("odometer",)
HOURS: tuple[Field, ...] = ("engine", "generator")
COSTS: tuple[Field, ...] = ("labor", "parts", "tax", "total")
FIGURES = (*DISTANCE, *HOURS, *COSTS)
DAYS: tuple[Field, ...] = ("on", "until")


@dataclass(frozen=True)
class Layout:
    """A table with its names taken off, and which column holds what."""

    table: Table
    columns: Mapping[int, Field] = field(default_factory=dict)

    @property
    def header(self) -> int | None:
        return find_header(self.table)

    @property
    def names(self) -> list[str]:
        """The columns' names; without names they are called A, B, C."""
        if self.header is None:
            return [_letter(n) for n in range(self.table.width)]
        row = self.table.rows[self.header]
        return [str(cell) or _letter(n) for n, cell in enumerate(row)]

    @property
    def body(self) -> list[tuple[int, tuple[Cell, ...]]]:
        """The rows below the names, each with its number in the file."""
        start = 0 if self.header is None else self.header + 1
        pairs = zip(self.table.numbers, self.table.rows, strict=True)
        return list(pairs)[start:]

    def cells_of(self, *fields: Field) -> Iterator[Cell]:
        wanted = [n for n, holds in self.columns.items() if holds in fields]
        return (row[n] for _number, row in self.body for n in wanted)

    def has(self, *fields: Field) -> bool:
        return any(holds in fields for holds in self.columns.values())

    def unit_in_name(self) -> str:
        """`mi` or `km` where the name of the distance column tells it, else nothing."""
        for column, holds in self.columns.items():
            if holds in DISTANCE:
                words = re.findall(r"[a-z]+", self.names[column].casefold())
                if {"mi", "mile", "miles"} & set(words):
                    return "mi"
                if {"km", "kms", "kilometers", "kilometres"} & set(words):
                    return "km"
        return ""


@dataclass(frozen=True)
class Open:
    """What the table leaves open. An empty tuple of examples: nothing is asked."""

    days: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    unit: bool = False
    told_order: str = ""  # as the data tell it
    told_comma: bool | None = None


def open_questions(layout: Layout) -> Open:
    order, ask, days = open_days(layout.cells_of(*DAYS))
    comma, numbers = open_numbers(layout.cells_of(*FIGURES))
    return Open(
        days=tuple(days) if ask else (),
        numbers=tuple(numbers) if comma is None else (),
        unit=layout.has(*DISTANCE),
        told_order=order or "",
        told_comma=comma,
    )


def job_words(layout: Layout) -> Counter[str]:
    """The jobs named in the table and how often each is."""
    cells = (" ".join(str(cell).split()) for cell in layout.cells_of("what"))
    return Counter(cell for cell in cells if cell)


def _letter(n: int) -> str:
    first, last = divmod(n, 26)
    return (chr(64 + first) if first else "") + chr(65 + last)
