"""Workbooks: values, days, merged cells, and files that mean harm."""

import contextlib
import io
import zipfile
from datetime import date, datetime
from decimal import Decimal
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maintenance.core.tables import TableError, day_of
from maintenance.exchange.imports import workbook as workbook_module
from maintenance.exchange.imports.files import source_of_file
from maintenance.exchange.imports.workbook import read_workbook

from .helpers import workbook


def test_workbook_then_days_numbers_and_words_as_they_are():
    data = workbook(
        ["Date", "Work", "Miles", "Paid"],
        [datetime(2024, 5, 4), "Oil", 30000, 12.5],  # noqa: DTZ001 - as cells hold it
        [date(2024, 6, 1), None, 1, True],
    )

    table = read_workbook(data)

    assert table.rows[1] == ("2024-05-04", "Oil", Decimal(30000), Decimal("12.5"))
    assert table.rows[2] == ("2024-06-01", "", Decimal(1), "yes")
    assert table.numbers == (1, 2, 3)


def test_day_kept_as_a_bare_number_then_read_as_the_day_it_stands_for():
    table = read_workbook(workbook(["Date", "Work"], [45416, "Oil"]))

    assert day_of(table.rows[1][0], order=None) == date(2024, 5, 4)


def with_part(data: bytes, name: str, change) -> bytes:
    """The workbook with one of its parts changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for info in old.infolist():
            part = old.read(info)
            part = change(part) if info.filename == name else part
            new.writestr(info, part, zipfile.ZIP_DEFLATED)
    return out.getvalue()


SHEET = "xl/worksheets/sheet1.xml"


def calculated(xml: bytes) -> bytes:
    """As a spreadsheet program saves it: the formula with its value beside."""
    for empty in (b"<v></v>", b"<v />", b"<v/>"):
        xml = xml.replace(empty, b"<v>2</v>")
    return xml


def test_formula_then_the_value_it_showed_and_not_the_formula():
    data = workbook(["Date", "Miles"], ["2024-05-04", "=1+1"])
    saved = with_part(data, SHEET, calculated)

    assert read_workbook(saved).rows[1] == ("2024-05-04", Decimal(2))
    assert "=1+1" not in str(read_workbook(data).rows)


def test_cells_merged_over_rows_then_each_row_has_the_value():
    data = workbook(
        ["Date", "Work"], ["2024-05-04", "Oil"], [None, "Filter"], merged="A2:A3"
    )

    assert [row[0] for row in read_workbook(data).rows] == [
        "Date", "2024-05-04", "2024-05-04"
    ]  # fmt: skip


def test_workbook_of_several_sheets_then_it_says_which_was_read():
    said = read_workbook(workbook(["Date", "Work"], sheets=3)).said

    assert "3 sheets" in said[0]


def bomb() -> bytes:
    filler = b"<row>" + b"<c/>" * 5_000_000 + b"</row>"
    return with_part(
        workbook(["a", "b"]),
        SHEET,
        lambda xml: xml.replace(b"<sheetData>", b"<sheetData>" + filler),
    )


def entities() -> bytes:
    head = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "b">]>'
    return with_part(workbook(["a", "b"]), SHEET, lambda xml: head + xml)


def late_entities() -> bytes:
    """Behind a long comment, and in letters of two bytes."""
    head = f"<?xml version='1.0'?><!--{'x' * 9000}--><!DOCTYPE x [<!ENTITY a 'b'>]><x/>"
    return with_part(workbook(["a", "b"]), SHEET, lambda _x: head.encode("utf-16"))


ROWS = b"".join(
    b'<row r="%d"><c r="A%d"><v>1</v></c></row>' % (n, n) for n in range(2, 3000)
)


def swollen(rows: bytes, after: bytes = b"") -> bytes:
    return with_part(
        workbook(["Date", "Work"]),
        SHEET,
        lambda xml: xml.replace(b"</sheetData>", rows + b"</sheetData>" + after),
    )


def merged_over_and_over() -> bytes:
    ranges = b'<mergeCell ref="A2:A1048576"/>' * 15_000
    return swollen(ROWS, b"<mergeCells>" + ranges + b"</mergeCells>")


def merged_in_many_ranges() -> bytes:
    ranges = b'<mergeCell ref="B2:B3"/>' * 20_001
    return swollen(ROWS, b"<mergeCells>" + ranges + b"</mergeCells>")


def of_many_cells() -> bytes:
    # Of letters that pack badly, so that it is no bomb by its ratio.
    noise = Random(1).randbytes(400_000)  # noqa: S311
    return with_part(swollen(b"<c/>" * 3_000_001), "docProps/app.xml", lambda _x: noise)


def test_sheet_with_a_lone_cell_far_right_then_rows_are_as_wide_as_read(monkeypatch):
    widths = []
    inner = workbook_module._cell
    monkeypatch.setattr(
        workbook_module, "_cell", lambda value: widths.append(1) or inner(value)
    )
    far = b"".join(
        b'<row r="%d"><c r="XFD%d"><v>1</v></c></row>' % (n, n) for n in range(2, 99)
    )

    assert read_workbook(swollen(far)).rows == (("Date", "Work"),)
    assert len(widths) <= workbook_module.WIDEST


def test_merged_range_far_right_then_no_row_grows():
    ranges = b'<mergeCells><mergeCell ref="XFD2:XFD3000"/></mergeCells>'

    assert read_workbook(swollen(ROWS, ranges)).width == 2


def no_workbook() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (bomb, "too big to read"),
        (entities, "entities"),
        (late_entities, "entities"),
        (merged_over_and_over, "merged cells"),
        (merged_in_many_ranges, "merged cells"),
        (of_many_cells, "too many cells to read"),
        (no_workbook, "Save it as XLSX or CSV"),
        (lambda: workbook(["a", "b"])[:-200], "can't be read"),
        (workbook, "workbook is empty"),
    ],
)
def test_workbook_that_cannot_be_read_then_it_says_why(data, word):
    with pytest.raises(TableError, match=word):
        read_workbook(data())


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"%PDF-1.7 x", "a PDF"),
        (b"\xd0\xcf\x11\xe0 x", "old workbook"),
        (b"\xff\xd8\xff x", "a photo"),
        (b"x" * 10_000_001, "over 10 MB"),
        (b"Date\n2024-05-04\n", "one column"),
    ],
)
def test_file_of_another_kind_then_it_says_what_to_do(data, word):
    with pytest.raises(TableError, match=word):
        source_of_file("log.csv", data)


WHOLE = workbook(["Date", "Work"], ["2024-05-04", "Oil"])


@settings(deadline=None)
@given(st.integers(4, len(WHOLE) - 1), st.integers(0, 255))
def test_damaged_workbook_then_a_table_or_a_clear_refusal(at, byte):
    with contextlib.suppress(TableError):
        assert read_workbook(WHOLE[:at] + bytes([byte]) + WHOLE[at + 1 :]).rows
