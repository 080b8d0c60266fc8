"""What a cell says: days, figures, and which column holds what."""

import contextlib
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.tables import (
    day_of,
    find_header,
    number_of,
    open_days,
    open_numbers,
    propose_fields,
    rows_of,
)
from maintenance.core.units import UnitError

FOURTH = date(2024, 5, 4)


@pytest.mark.parametrize(
    "text",
    [
        "2024-05-04", "2024/5/4", "20240504", "2024-05-04T13:05:00", "4 May 2024",
        "May 4, 2024", "4-May-24", "4th may 2024", "Sept. 4 2024",
        "2024-05-04 1:05 PM",
    ],
)  # fmt: skip
def test_day_that_leaves_nothing_open_then_that_day(text):
    expected = FOURTH.replace(month=9) if text.startswith("Sept") else FOURTH

    assert day_of(text, order=None) == expected


@pytest.mark.parametrize(
    ("text", "order", "found"),
    [
        ("04/05/2024", "dmy", date(2024, 5, 4)),
        ("04/05/2024", "mdy", date(2024, 4, 5)),
        ("4.5.24", "dmy", date(2024, 5, 4)),
        ("31/12/99", "dmy", date(1999, 12, 31)),
        ("04/05/2024", None, None),
        ("05/05/2024", None, date(2024, 5, 5)),
        ("31/02/2024", "dmy", None),
        ("last spring", None, None),
    ],
)
def test_day_in_three_numbers_then_by_the_order_told(text, order, found):
    assert day_of(text, order=order) == found


def test_day_number_of_a_spreadsheet_then_its_day():
    # ECMA-376 part 1, 18.17.4.1: 1 Jan 1900 is 1, and there is a 29 Feb 1900.
    # From 1 Jan 1900 to 4 May 2024: 124 years with 31 leap days, then 124 days more.
    assert day_of(Decimal(45416), order=None) == FOURTH
    assert day_of("45416", order=None) == FOURTH
    assert day_of(Decimal(45416 - 1462), order=None, since_1904=True) == FOURTH
    assert day_of(Decimal(12), order=None) is None


@pytest.mark.parametrize(
    ("cells", "found"),
    [
        (["04/05/2024", "06/07/2024"], (None, True, ["04/05/2024", "06/07/2024"])),
        (["04/05/2024", "25/07/2024"], ("dmy", False, [])),
        (["04/05/2024", "07/25/2024"], ("mdy", False, [])),
        (["25/05/2024", "07/25/2024"], (None, True, ["25/05/2024", "07/25/2024"])),
        (["05/05/2024", "2024-01-02", "words", ""], (None, False, [])),
    ],
)
def test_order_of_day_and_month_then_told_by_the_cells_or_asked(cells, found):
    assert open_days(cells) == found


@pytest.mark.parametrize(
    ("cells", "found"),
    [
        (["1,234", "2,345"], (None, ["1,234", "2,345"])),
        (["1,234", "12.50"], (False, ["1,234"])),
        (["1.234", "12,50"], (True, ["1.234"])),
        (["12,50", "8"], (False, [])),  # reads the same either way
        (["1,234", "12.50", "12,50"], (None, ["1,234"])),
        ([Decimal("1.234"), ""], (False, [])),
    ],
)
def test_decimal_mark_then_told_by_the_cells_or_asked(cells, found):
    assert open_numbers(cells) == found


@pytest.mark.parametrize(
    ("cell", "comma", "value"),
    [
        ("$1,234.50", False, "1234.50"),
        ("1.234,50 €", True, "1234.50"),
        ("42,310 mi", False, "42310"),
        ("120.-", False, "120"),
        (Decimal("7.5"), True, "7.5"),
    ],
)
def test_figure_with_words_around_it_then_the_figure(cell, comma, value):
    assert number_of(cell, decimal_comma=comma) == Decimal(value)


def test_figure_of_an_empty_cell_is_none_and_of_words_an_error():
    assert number_of(" ", decimal_comma=False) is None
    with pytest.raises(UnitError):
        number_of("about forty", decimal_comma=False)


@given(st.text(max_size=30))
def test_any_words_then_a_day_a_figure_or_a_clear_word(text):
    assert day_of(text, order="dmy") is None or isinstance(
        day_of(text, order="dmy"), date
    )
    open_days([text])
    open_numbers([text])
    with contextlib.suppress(UnitError):
        number_of(text, decimal_comma=False)


def test_title_above_the_names_then_the_row_of_names_is_found():
    table = rows_of("Log of Marlow,,\nDate,Work done,Miles\n2024-01-02,Oil,100\n")

    assert find_header(table) == 1


def test_words_over_figures_then_they_are_names_and_figures_alone_have_none():
    assert find_header(rows_of("x,y\n1,2\n")) == 0
    assert find_header(rows_of("2024-01-02,Oil\n2024-02-02,Tires\n")) is None


def test_columns_then_proposed_by_their_names_each_field_once():
    names = ["Date", "Mileage", "Work done", "Cost", "Total", "Shop", "Weather"]

    assert propose_fields(names, {}) == {
        0: "on", 1: "odometer", 2: "what", 3: "total", 5: "doer"
    }  # fmt: skip


def test_columns_chosen_before_then_proposed_first_even_as_left_out():
    remembered = {"weather": "notes", "cost": "", "total": "total"}

    found = propose_fields(["Date", "Weather", "Cost", "Total"], remembered)

    assert found == {0: "on", 1: "notes", 3: "total"}
