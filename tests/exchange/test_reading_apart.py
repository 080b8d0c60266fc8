"""A workbook is read in a process of its own, which ends in time whatever it does."""

import io
import sys

import openpyxl
import pytest

from maintenance.core.tables import TableError
from maintenance.exchange.imports import reading_apart
from maintenance.exchange.imports.reading_apart import read_workbook_apart
from maintenance.exchange.imports.workbook import read_workbook


def workbook() -> bytes:
    book = openpyxl.Workbook()
    for row in (["Date", "Work", "Miles"], ["2026-05-04", "Engine oil", 42310.5]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_workbook_when_read_apart_then_the_same_table():
    data = workbook()

    assert read_workbook_apart(data) == read_workbook(data)


def test_workbook_when_it_is_none_then_the_reason_in_words():
    with pytest.raises(TableError, match="can't be read"):
        read_workbook_apart(b"PK\x03\x04 and then nothing")


@pytest.mark.parametrize(
    "does", ["while True: pass", "import os; os.abort()", "x = 'x' * 10**11"]
)
def test_reading_when_it_hangs_or_falls_over_then_ended_with_words(does):
    with pytest.raises(TableError, match="takes too long"):
        read_workbook_apart(b"", seconds=2, program=(sys.executable, "-c", does))


def test_reading_when_it_begins_then_bounded_in_time_and_memory(monkeypatch):
    found = {}
    monkeypatch.setattr(
        reading_apart.resource,
        "setrlimit",
        lambda what, most: found.update({what: most}),
    )
    monkeypatch.setattr(reading_apart.os, "nice", found.setdefault)
    stdin = io.TextIOWrapper(io.BytesIO(workbook()))
    monkeypatch.setattr(reading_apart.sys, "stdin", stdin)

    assert reading_apart.main() == 0
    assert {reading_apart.resource.RLIMIT_CPU, reading_apart.resource.RLIMIT_AS} <= set(
        found
    )
