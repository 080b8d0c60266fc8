"""Days as people remember them."""

from datetime import date

import pytest

from maintenance.plans.when import back_to, parse_when
from maintenance.ui import local

MAY = (date(2024, 5, 1), date(2024, 5, 31))


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2024", date(2024, 1, 1), date(2024, 12, 31)),
        ("5/2024", *MAY),
        ("05/2024", *MAY),
        ("2024-05", *MAY),
        ("May 2024", *MAY),
        ("  may 2024 ", *MAY),
        ("Sept. 2023", date(2023, 9, 1), date(2023, 9, 30)),
        ("2/2024", date(2024, 2, 1), date(2024, 2, 29)),
        ("5/13/2024", date(2024, 5, 13), date(2024, 5, 13)),
        ("2024-05-13", date(2024, 5, 13), date(2024, 5, 13)),
        ("13 May 2024", date(2024, 5, 13), date(2024, 5, 13)),
        ("May 13, 2024", date(2024, 5, 13), date(2024, 5, 13)),
    ],
)
def test_when_is_read_as_people_write_it(text, first, last):
    when = parse_when(text)

    assert (when.first, when.last) == (first, last)


@pytest.mark.parametrize(
    ("country", "text", "day"),
    [
        ("GB", "5/4/2024", date(2024, 4, 5)),
        ("GB", "13/5/2024", date(2024, 5, 13)),
        ("DE", "13.5.2024", date(2024, 5, 13)),
        ("US", "5/4/2024", date(2024, 5, 4)),
        ("CA", "5/13/2024", date(2024, 5, 13)),
        ("CA", "13/5/2024", date(2024, 5, 13)),
        ("CA", "5/5/2024", date(2024, 5, 5)),
    ],
)
def test_day_in_figures_is_read_as_the_country_writes_it(country, text, day):
    with local.override(country):
        assert parse_when(text).first == day


def test_day_in_figures_that_could_be_two_is_asked_about():
    """Canada writes both orders."""
    with local.override("CA"), pytest.raises(ValueError, match="could be two days"):
        parse_when("5/4/2024")


def test_month_that_is_none_in_the_country_is_refused():
    with local.override("GB"), pytest.raises(ValueError, match="isn't a date"):
        parse_when("5/13/2024")


@pytest.mark.parametrize(
    "text", ["yesterday", "13/2024", "2/30/2024", "24", "0204", "Mumble 2024", "5.2024"]
)
def test_what_is_no_day_is_refused_and_named(text):
    with pytest.raises(ValueError, match=f"“{text}”"):
        parse_when(text)


@pytest.mark.parametrize(
    ("text", "start"),
    [("2015", "2015-01"), ("4/2015", "2015-04"), ("4/12/2015", "2015-04-12")],
)
def test_life_starts_with_a_day_or_a_month(text, start):
    assert parse_when(text).start == start


@pytest.mark.parametrize(
    ("printed", "anchor"),
    [
        (date(2026, 6, 30), date(2025, 6, 30)),  # still good: it ran out a year before
        (date(2026, 5, 4), date(2026, 5, 4)),  # runs out today
        (date(2025, 12, 31), date(2025, 12, 31)),  # has run out
        (date(2028, 2, 29), date(2026, 2, 28)),  # the day is clamped
    ],
)
def test_paper_last_ran_out_whole_years_before_the_day_printed_on_it(printed, anchor):
    assert back_to(printed, 12, date(2026, 5, 4)) == anchor
