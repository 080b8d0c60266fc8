"""An XLSX workbook as a table: the values of its first sheet with something in it.

A workbook is a ZIP of XML, so what it unpacks to is held in bounds before it is read,
and entities are refused.
"""

import io
import lzma
import re
import zipfile
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

import openpyxl
from openpyxl.utils.cell import range_boundaries
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from maintenance.core.tables import Cell, Table, TableError
from maintenance.core.tables.text import MOST_COLUMNS, MOST_ROWS, as_table, refuse_many

MOST_UNPACKED = 80_000_000  # bytes of XML; 50,000 rows of a log have some 30 million
MOST_RATIO = 200  # a log packs some 15 times
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
            "This workbook cannot be read; it may be damaged or locked by a password. "
            "Save it anew as XLSX, or as CSV."
        ) from None


def _refuse_bomb(data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        names = set(packed.namelist())
        unpacked = sum(info.file_size for info in packed.infolist())
        if unpacked > MOST_UNPACKED or unpacked > MOST_RATIO * max(len(data), 20_000):
            raise TableError(
                "This workbook unpacks to far more than a log needs and is not read. "
                "Copy the rows into a new one, or save it as CSV."
            )
        if "xl/workbook.xml" not in names:
            raise TableError(
                "This is no workbook that can be read. Save it as XLSX or CSV."
            )
        for name in names:
            if name.endswith((".xml", ".rels")):
                _refuse_entities(packed, name)


def _refuse_entities(packed: zipfile.ZipFile, name: str) -> None:
    with packed.open(name) as part:
        if b"<!DOCTYPE" in part.read(4096):
            raise TableError("This workbook carries entities and is not read.")


def _read(data: bytes) -> Table:
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    try:
        sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
        found = ((sheet, _rows(sheet)) for sheet in sheets or book.worksheets)
        sheet, rows = next(((s, r) for s, r in found if r), (None, []))
        if sheet is None:
            raise TableError("There is nothing in this workbook.")
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
        f"Of its {sheets} sheets “{title}” was read. Bring in the others one by one, "
        "each saved as a file of its own.",
    )


def _rows(sheet: Any) -> list[tuple[int, list[Cell]]]:
    """The sheet's own idea of its size may be wrong either way, so it is not used."""
    sheet.reset_dimensions()
    rows: list[tuple[int, list[Cell]]] = []
    for number, row in enumerate(sheet.iter_rows(values_only=True), start=1):
        if number > 20 * MOST_ROWS:
            refuse_many(number)
        cells = [_cell(value) for value in row[: 4 * MOST_COLUMNS]]
        if any(cell != "" for cell in cells):
            rows.append((number, cells))
            refuse_many(len(rows))
    return rows


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
    for match in _MERGED.finditer(xml):
        yield range_boundaries(match[1].decode())


def _fill_merged(
    rows: list[tuple[int, list[Cell]]], merged: Iterator[tuple[int, int, int, int]]
) -> None:
    """A cell that spans rows says the same for each of them."""
    counted = dict(rows)
    for column, first, _last_column, last in merged:
        value = _at(counted.get(first, []), column)
        for number in range(first + 1, min(last, first + MOST_ROWS) + 1):
            row = counted.get(number)
            if row is not None and value != "":
                row.extend([""] * (column - len(row)))
                row[column - 1] = value


def _at(row: list[Cell], column: int) -> Cell:
    return row[column - 1] if len(row) >= column else ""
