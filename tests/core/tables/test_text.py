"""Bytes as a table: delimiters, encodings, quoting, and what is refused.

Quoting: RFC 4180, section 2, whose own examples are the first ones.
"""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.tables import Table, TableError, read_text, rows_of


def cells(text: str) -> list[list[str]]:
    return [[str(cell) for cell in row] for row in rows_of(text).rows]


PLAIN = [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]
BROKEN = [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", PLAIN),  # rule 1
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx", PLAIN),  # rule 2: no break at the end
        ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', PLAIN),  # rule 5
        ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', BROKEN),  # rule 6
        ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),  # rule 7
    ],
)
def test_text_quoted_as_rfc_4180_says_then_its_cells(text, rows):
    assert cells(text) == rows


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_text_with_any_usual_delimiter_then_cut_there(sign):
    text = "\n".join(sign.join(row) for row in [("a", "b"), ("c", "d")])

    assert cells(text) == [["a", "b"], ["c", "d"]]


def test_semicolons_with_decimal_commas_then_cut_at_the_semicolons():
    assert cells("1;2,5;x\n2;3,5;y") == [["1", "2,5", "x"], ["2", "3,5", "y"]]


def test_first_line_that_names_the_delimiter_then_it_counts():
    assert cells("sep=|\na,b|c\n") == [["a,b", "c"]]


@pytest.mark.parametrize(
    "name", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"]
)
def test_file_in_any_usual_encoding_then_its_letters(name):
    text = "Datum,Arbeit\n2024-05-04,Ölwechsel am Wagen\n" * 20

    assert read_text(text.encode(name)).rows[1][1] == "Ölwechsel am Wagen"


def test_file_that_does_not_tell_its_encoding_then_said_with_a_word_to_look_at():
    table = read_text("a,b\n1,Ölwechsel\n".encode("latin-1"))

    assert "Ölwechsel" in table.said[0]


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"", "empty"),
        (b" \r\n\r\n", "empty"),
        (b"a,b\n\x00\x00,c", "isn't a text file"),
        (b"a,b\nc\x01,d", "isn't a text file"),
        (b'a,b\nc,"d\ne,f\n', "Line 2"),
        (b"\xff\xfea", "can't be read"),
        (b",".join([b"x"] * 300), "300 columns"),
        (b"a,b\n" * 50_001, "more than 50,000 rows"),
    ],
)
def test_file_that_is_no_table_then_it_says_why(data, word):
    with pytest.raises(TableError, match=word):
        read_text(data)


def test_table_of_200_columns_then_read():
    assert read_text(b",".join([b"x"] * 200)).width == 200


def test_rows_of_unequal_length_then_filled_and_numbered_as_in_the_file():
    table = rows_of("a,b,c\n\nd\n")

    assert table.rows == (("a", "b", "c"), ("d", "", ""))
    assert table.numbers == (1, 3)


def test_cell_kept_from_running_then_as_it_was_meant():
    assert cells("'=1+1,'quoted'\n") == [["=1+1", "'quoted'"]]


def whole(table: Table) -> bool:
    same = all(len(row) == table.width for row in table.rows)
    return same and len(table.rows) == len(table.numbers)


@given(st.binary(max_size=400))
def test_any_bytes_then_a_table_or_a_clear_refusal(data):
    with contextlib.suppress(TableError):
        assert whole(read_text(data))


@given(st.text(alphabet='ab1,;\t|"\n\r ', max_size=80))
def test_any_text_of_signs_that_cut_then_a_table_or_a_clear_refusal(text):
    with contextlib.suppress(TableError):
        assert whole(rows_of(text))
