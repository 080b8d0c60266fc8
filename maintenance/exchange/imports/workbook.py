"""An XLSX workbook as a table: the values of its first sheet with something in it.

A workbook is a ZIP of XML, so what it unpacks to is held in bounds before it is read:
bytes, parts, cells, merged ranges. Entities are refused.
"""

import contextlib
import io
import lzma
import re
import zipfile
import zlib
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from functools import partial
from typing import IO, Any
from xml.parsers import expat

import openpyxl
from openpyxl.utils.cell import range_boundaries
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from maintenance.core.tables import Cell, Table, TableError
from maintenance.core.tables.text import MOST_COLUMNS, MOST_ROWS, as_table, refuse_many

MOST_UNPACKED = 80_000_000  # bytes of XML; 50,000 rows of a log have some 30 million
MOST_RATIO = 200  # a log packs some 15 times
MOST_PARTS = 2000
MOST_ELEMENTS = 3_000_000  # of XML; a cell of a log has two, with its value
WIDEST = 4 * MOST_COLUMNS
MOST_MERGED = 20_000  # ranges; with the years of a log merged there are some hundred
MOST_FILLED = 4 * MOST_ROWS  # cells that say what the first of their range says
BLOCK = 1 << 16
TOO_MERGED = (
    "This workbook has too many merged cells to read. Unmerge them, or save it as CSV."
)
_MERGED = re.compile(rb'<mergeCell ref="([A-Z]+\d+:[A-Z]+\d+)"')

# What openpyxl raises on files that are not what they seem.
UNREADABLE = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    ArithmeticError,
    AttributeError,
    EOFError,
    LookupError,
    NotImplementedError,
    OSError,
    RuntimeError,
    SyntaxError,  # XML that does not parse
    TypeError,
    ValueError,
    lzma.LZMAError,
    zlib.error,
)


def read_workbook(data: bytes) -> Table:
    """Values, never formulas: what the cells showed when the workbook was saved."""
    try:
        _refuse_bomb(data)
        return _read(data)
    except TableError:
        raise
    except UNREADABLE:
        raise TableError(
            "This workbook can't be read. It may be damaged or locked with a password. "
            "Save it again as XLSX or CSV."
        ) from None


def _refuse_bomb(data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        names = set(packed.namelist())
        unpacked = sum(info.file_size for info in packed.infolist())
        if unpacked > MOST_UNPACKED or unpacked > MOST_RATIO * max(len(data), 20_000):
            raise TableError(
                "This workbook is too big to read when unpacked. "
                "Copy the rows into a new one, or save it as CSV."
            )
        if len(names) > MOST_PARTS:
            raise TableError("This workbook has too many parts. Save it as CSV.")
        if "xl/workbook.xml" not in names:
            raise TableError(
                "This isn't a workbook that can be read. Save it as XLSX or CSV."
            )
        elements = 0
        for name in names:
            with packed.open(name) as part:
                _refuse_entities(part)
            with packed.open(name) as part:
                elements += _elements(part)
            if elements > MOST_ELEMENTS:
                raise TableError(
                    "This workbook has too many cells to read. "
                    "Split it into several files, or save it as CSV."
                )


class _Begun(Exception):
    """The first element: what declares entities stands before it."""


def _elements(part: IO[bytes]) -> int:
    """At most so many: they are counted before anything is made of them."""
    return sum(
        block.count(b"<") - block.count(b"</")
        for block in iter(partial(part.read, BLOCK), b"")
    )


def _refuse_entities(part: IO[bytes]) -> None:
    """By a parser, which knows every encoding and comment. What is no XML carries
    none."""

    def refuse(*_declared: Any) -> None:
        raise TableError(
            "This workbook has XML entities, so it isn't safe. Save it as CSV."
        )

    def stop(*_element: Any) -> None:
        raise _Begun

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = stop
    with contextlib.suppress(_Begun, expat.ExpatError):
        while block := part.read(BLOCK):
            parser.Parse(block)


def _read(data: bytes) -> Table:
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    try:
        sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
        found = ((sheet, _rows(sheet)) for sheet in sheets or book.worksheets)
        sheet, rows = next(((s, r) for s, r in found if r), (None, []))
        if sheet is None:
            raise TableError("This workbook is empty. Choose another.")
        _fill_merged(rows, _merged(data, sheet))
        return as_table(
            rows,
            said=_said(sheet.title, len(sheets)),
            since_1904=book.epoch == CALENDAR_MAC_1904,
        )
    finally:
        book.close()


def _said(title: str, sheets: int) -> tuple[str, ...]:
    if sheets < 2:
        return ()
    return (
        f"Only “{title}” was read, one of {sheets} sheets. Import the others one by "
        "one, "
        "each saved as its own file.",
    )


def _rows(sheet: Any) -> list[tuple[int, list[Cell]]]:
    """The sheet's own idea of its size may be wrong either way, so it is not used. A
    lone cell at the far right must not make each row as wide as a sheet can be."""
    sheet.reset_dimensions()
    rows: list[tuple[int, list[Cell]]] = []
    width, before = 0, None
    reading = sheet.iter_rows(max_col=WIDEST, values_only=True)
    for number, row in enumerate(reading, start=1):
        if number > 20 * MOST_ROWS:
            refuse_many(number)
        if row is before:  # one object stands for every row that is not there
            continue
        before = row
        if _has_value(row[width:]):
            width = max(n for n, value in enumerate(row, start=1) if value is not None)
        cells = [_cell(value) for value in row[:width]]
        if any(cell != "" for cell in cells):
            rows.append((number, cells))
            refuse_many(len(rows))
    return rows


def _has_value(cells: Sequence[Any]) -> bool:
    return cells.count(None) < len(cells)


def _cell(value: Any) -> Cell:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return Decimal(repr(value)) if abs(value) < 1e15 else str(value)
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    return re.sub(r"[\x00-\x08\x0e-\x1f]", "", str(value))


def _merged(data: bytes, sheet: Any) -> Iterator[tuple[int, int, int, int]]:
    """(first column, first row, last column, last row) of each merged range."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        # Sheets that are read row by row do not tell what is merged.
        xml = packed.read(sheet._worksheet_path)
    for count, match in enumerate(_MERGED.finditer(xml)):
        if count == MOST_MERGED:
            raise TableError(TOO_MERGED)
        yield range_boundaries(match[1].decode())


def _fill_merged(
    rows: list[tuple[int, list[Cell]]], merged: Iterator[tuple[int, int, int, int]]
) -> None:
    """A cell that spans rows says the same for each of them. Ranges that overlap, which
    no program writes, could ask for the same cells without end."""
    numbers = [number for number, _row in rows]
    filled = 0
    for column, first, _last_column, last in merged:
        start = bisect_left(numbers, first)
        value = (
            _at(rows[start][1], column) if numbers[start : start + 1] == [first] else ""
        )
        if value == "" or column > WIDEST:
            continue
        below = rows[start + 1 : bisect_right(numbers, last)]
        filled += len(below)
        if filled > MOST_FILLED:
            raise TableError(TOO_MERGED)
        for _number, row in below:
            row.extend([""] * (column - len(row)))
            row[column - 1] = value


def _at(row: list[Cell], column: int) -> Cell:
    return row[column - 1] if len(row) >= column else ""
