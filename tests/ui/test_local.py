"""The form of a household's country. Expected by hand, from what CLDR says of each."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from babel import Locale
from babel.numbers import get_territory_currencies
from django.utils import timezone

from maintenance.core.units import parse_number, show, show_number
from maintenance.core.words import counted
from maintenance.ui import local, words
from maintenance.ui.number_fields import MeasureField, NumberField

DAY = date(2026, 11, 30)
NBSP, DASH = "\N{NO-BREAK SPACE}", "\N{EN DASH}"


@pytest.mark.parametrize(
    ("country", "day", "clock", "money", "number"),
    [
        ("US", "Nov 30, 2026", "2:05 PM", "$1,052.93", "42,310.5"),
        ("CA", "Nov 30, 2026", "2:05 p.m.", "US$1,052.93", "42,310.5"),
        ("GB", "30 Nov 2026", "14:05", "US$1,052.93", "42,310.5"),
        ("DE", "30 Nov 2026", "14:05", f"1.052,93{NBSP}US$", "42.310,5"),
        ("FR", "30 Nov 2026", "14:05", f"1{NBSP}052,93{NBSP}US$", f"42{NBSP}310,5"),
    ],
)
def test_each_country_has_its_form(country, day, clock, money, number):
    with local.override(country):
        assert words.day_words(DAY) == day
        assert words.clock_words(datetime(2026, 11, 30, 14, 5)) == clock  # noqa: DTZ001
        assert words.money_words(Decimal("1052.93"), "USD") == money
        assert show_number(Decimal("42310.5")) == number
        assert show(Decimal("42310.5"), "mi") == f"{number} mi"


@pytest.mark.parametrize(
    ("country", "first", "paper", "call", "season"),
    [
        ("US", 6, "letter", "911", "fall"),
        ("CA", 6, "letter", "911", "fall"),
        ("GB", 0, "a4", "999", "autumn"),
        ("DE", 0, "a4", "112", "autumn"),
    ],
)
def test_week_paper_call_and_season(country, first, paper, call, season):
    with local.override(country):
        assert local.first_weekday() == first
        assert local.weekdays()[0] == first
        assert sorted(local.weekdays()) == list(range(7))
        assert local.paper_size() == paper
        assert local.emergency_number() == call
        assert words.season_words("autumn") == season
        assert words.season_words("spring") == "spring"


def test_form_ends_with_its_override_and_is_american_without():
    with local.override("DE"), local.override("GB"):
        assert words.day_words(DAY) == "30 Nov 2026"
    assert words.day_words(DAY) == "Nov 30, 2026"
    assert counted(1500, "mile") == "1,500 miles"
    with local.override("DE"):
        assert counted(1500, "mile") == "1.500 miles"


def test_every_country_that_is_offered_has_an_english_of_its_own():
    names = dict(local.country_choices())
    assert next(iter(names)) == "US"
    assert len(names) == len(local.EMERGENCY)
    for country in names:
        assert Locale.parse(f"en_{country}").territory == country
        assert get_territory_currencies(country)
        with local.override(country):
            assert local.emergency_number() in {"911", "112", "999", "000", "111"}


@pytest.mark.parametrize(
    ("first", "last", "american", "british"),
    [
        (DAY, DAY, "Nov 30, 2026", "30 Nov 2026"),
        (DAY, None, "Nov 30, 2026", "30 Nov 2026"),
        (
            date(2026, 12, 1),
            date(2026, 12, 3),
            f"Dec 1{DASH}3, 2026",
            f"1{DASH}3 Dec 2026",
        ),
        (
            DAY,
            date(2026, 12, 3),
            f"Nov 30 {DASH} Dec 3, 2026",
            f"30 Nov {DASH} 3 Dec 2026",
        ),
        (
            DAY,
            date(2027, 1, 3),
            f"Nov 30, 2026 {DASH} Jan 3, 2027",
            f"30 Nov 2026 {DASH} 3 Jan 2027",
        ),
    ],
)
def test_span_says_once_what_is_the_same(first, last, american, british):
    assert words.day_span_words(first, last) == american
    with local.override("GB"):
        assert words.day_span_words(first, last) == british


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2026, 11, 30), "today"),
        (date(2026, 11, 29), "yesterday"),
        (date(2026, 12, 1), "tomorrow"),
        (date(2026, 11, 18), "12 days ago"),
        (date(2026, 11, 16), "2 weeks ago"),
        (date(2026, 12, 21), "in 3 weeks"),
        (date(2026, 9, 30), "2 months ago"),
        (date(2025, 11, 30), "1 year ago"),
        (date(2025, 8, 30), "15 months ago"),
        (date(2024, 11, 30), "2 years ago"),
        (date(2020, 9, 13), "6 years ago"),  # 2,269 days
        (date(2019, 11, 30), "7 years ago"),
    ],
)
def test_long_spans_are_said_in_a_unit_that_still_says_something(day, said):
    assert words.ago_words(day, DAY) == said


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (1, "1 day"),
        (60, "60 days"),
        (70, "2 months"),
        (364, "11 months"),
        (365, "1 year"),
        (2269, "6 years"),
    ],
)
def test_number_of_days_is_said_likewise(days, said):
    assert words.days_long_words(days) == said


def test_moment_is_told_by_the_household_s_clock():
    moment = datetime(2026, 5, 2, 3, 0, tzinfo=UTC)
    with timezone.override("America/Denver"):
        assert words.moment_words(moment) == "May 1, 2026, 9:00 PM"
        assert words.day_words(moment) == "May 1, 2026"


@pytest.mark.parametrize("country", ["US", "GB", "DE", "FR", "CH"])
@pytest.mark.parametrize("value", ["42310", "1.125", "0.5", "1234.5", "999", "1000"])
def test_number_that_is_shown_or_offered_is_read_as_the_same(country, value):
    number = Decimal(value)
    with local.override(country):
        assert parse_number(show_number(number, places=3)) == number
        shown = NumberField(max_digits=12, decimal_places=3).prepare_value(number)
        assert NumberField(max_digits=12, decimal_places=3).clean(shown) == number
        measure = MeasureField(unit="mi", step="0.001")
        assert measure.clean(measure.prepare_value(number)) == number


@pytest.mark.parametrize(
    ("country", "typed", "value"),
    [
        ("US", "42,310", "42310"),
        ("US", "42310.5", "42310.5"),
        ("DE", "42.310", "42310"),
        ("DE", "42310,5", "42310.5"),
        ("DE", "42310.5", "42310.5"),  # it cannot group
    ],
)
def test_typed_number_is_read_as_the_country_writes_it(country, typed, value):
    with local.override(country):
        assert parse_number(typed) == Decimal(value)
