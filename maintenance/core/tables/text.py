"""A text file or pasted text as a table: encoding, delimiter, quoting by RFC 4180."""

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

# A number of a spreadsheet's own stays one; all else is text as it stands there.
Cell = str | Decimal

MOST_ROWS = 50_000
MOST_COLUMNS = 256
LONGEST_CELL = 10_000  # characters

DELIMITERS = ",;\t|"
_SEEN = 200  # lines that tell the delimiter
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f]")


class TableError(ValueError):
    """Why something is no table that can be read, and what to do about it."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of equal length, none of them empty, with the line or row of each in the
    file, counted from one. `said` tells what to know of how it was read."""

    rows: tuple[tuple[Cell, ...], ...]
    numbers: tuple[int, ...]
    said: tuple[str, ...] = ()
    since_1904: bool = False  # a workbook whose day numbers count from 1904

    @property
    def width(self) -> int:
        return len(self.rows[0]) if self.rows else 0


_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def read_text(data: bytes) -> Table:
    """The table of a CSV file, whatever its delimiter and encoding.

    A byte order mark tells the encoding; else UTF-8, UTF-16 by its zero bytes, and
    last Windows-1252, which the table then says. `TableError` for what is no table.
    """
    text, said = _decoded(data)
    return rows_of(text, said=said)


def rows_of(text: str, *, said: tuple[str, ...] = ()) -> Table:
    """The table of a text. The delimiter is the one that cuts most lines alike."""
    text, delimiter = _named_delimiter(text)
    if _CONTROL.search(text):
        raise TableError("This isn't a text file. Save it as CSV or XLSX.")
    if not text.strip():
        raise TableError("This file is empty. Choose it again.")
    return as_table(_cut(text, delimiter or _delimiter_of(text)), said=said)


def as_table(
    found: Sequence[tuple[int, Sequence[Cell]]],
    *,
    said: tuple[str, ...] = (),
    since_1904: bool = False,
) -> Table:
    """Numbered rows as a table: limits held, empty rows and columns at the end gone."""
    kept = [(n, row) for n, row in found if any(not _is_empty(cell) for cell in row)]
    if not kept:
        raise TableError("This file is empty. Choose it again.")
    width = max(_used(row) for _, row in kept)
    if width > MOST_COLUMNS:
        raise TableError(
            f"It has {width} columns; at most {MOST_COLUMNS} are read. Remove "
            "the columns that aren't about the work."
        )
    rows = tuple(tuple(_tidy(c) for c in _of_width(row, width)) for _, row in kept)
    return Table(rows, tuple(n for n, _ in kept), said, since_1904)


def refuse_many(count: int) -> None:
    if count > MOST_ROWS:
        raise TableError(
            f"It has more than {MOST_ROWS:,} rows. Split it into several files."
        )


def _decoded(data: bytes) -> tuple[str, tuple[str, ...]]:
    for mark, name in _MARKS:
        if data.startswith(mark):
            return _by(data, name), ()
    wide = _utf16_by_zeros(data)
    if wide is not None:
        return _by(data, wide), ()
    if b"\x00" in data:
        raise TableError("This isn't a text file. Save it as CSV or XLSX.")
    try:
        return data.decode("utf-8"), ()
    except UnicodeDecodeError:
        return _western(data)


def _by(data: bytes, name: str) -> str:
    try:
        return data.decode(name)
    except UnicodeDecodeError:
        raise TableError(
            "This file's letters can't be read. Save it as CSV in UTF-8."
        ) from None


def _utf16_by_zeros(data: bytes) -> str | None:
    """UTF-16 without a mark: of Western text every other byte is zero."""
    head = data[:2000]
    even, odd = head[::2].count(0), head[1::2].count(0)
    half = len(head) // 2
    if half and odd > half * 0.7 and even < half * 0.1:
        return "utf-16-le"
    if half and even > half * 0.7 and odd < half * 0.1:
        return "utf-16-be"
    return None


def _western(data: bytes) -> tuple[str, tuple[str, ...]]:
    # Five bytes mean nothing in Windows-1252; Latin-1 takes every byte.
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    words = re.findall(r"\w*[^\W\d_a-zA-Z]\w*", text)
    shown = f": check “{words[0][:30]}”" if words else ""
    return text, (
        "This file doesn't name its text encoding. It was read as Western "
        f"European (Windows-1252){shown}. If letters look wrong, save it as "
        "CSV in UTF-8.",
    )


def _named_delimiter(text: str) -> tuple[str, str]:
    """A first line `sep=;`, as one spreadsheet program writes it, names it."""
    match = re.match(r"\ufeff?sep=(.)\r?\n", text)
    return (text[match.end() :], match[1]) if match else (text, "")


def _delimiter_of(text: str) -> str:
    sample = "".join(text.splitlines(keepends=True)[:_SEEN])
    return max(DELIMITERS, key=lambda sign: _evenness(sample, sign))


def _evenness(sample: str, delimiter: str) -> tuple[float, int]:
    """How large a part of the lines has the usual number of cells, and that number."""
    reader = csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter)
    try:
        widths = Counter(len(row) for row in reader if row)
    except csv.Error:
        return 0, 0
    width, times = max(widths.items(), key=lambda pair: (pair[1], pair[0]))
    return (times / widths.total(), width) if width > 1 else (0, 0)


def _cut(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[int, list[str]]] = []
    start = 1
    try:
        for row in reader:
            rows.append((start, row))
            start = reader.line_num + 1
            refuse_many(len(rows))
    except csv.Error:
        raise TableError(
            f"Line {start}: a quotation mark opens but doesn't close. Inside "
            "a quoted cell, type each quotation mark twice."
        ) from None
    return rows


def _is_empty(cell: Cell) -> bool:
    return isinstance(cell, str) and not cell.strip()


def _used(row: Sequence[Cell]) -> int:
    """How many cells there are up to the last one with something in it."""
    return max((n for n, c in enumerate(row, start=1) if not _is_empty(c)), default=0)


def _of_width(row: Sequence[Cell], width: int) -> list[Cell]:
    return [*row[:width], *[""] * (width - len(row))]


def _tidy(cell: Cell) -> Cell:
    """Without the blanks around it. An apostrophe before a sign that a spreadsheet
    would run is one that kept it from running."""
    if not isinstance(cell, str):
        return cell
    text = cell.strip()[:LONGEST_CELL]
    return text[1:] if re.match(r"'[=+\-@\t\r]", text) else text
