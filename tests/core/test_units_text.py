"""Measures as people type them and read them."""

from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.units import (
    UNITS,
    Measure,
    UnitError,
    find_unit,
    parse_measure,
    parse_number,
    quantity_of,
    show,
    show_number,
    units_of,
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("42310", "42310"),
        ("42,310", "42310"),  # thousands in an English locale
        ("42310,5", "42310.5"),  # no group of three: decimal
        ("42,31", "42.31"),
        ("42.310", "42.310"),
        ("4231,500", "4231.5"),  # four digits before it: decimal
        ("0,125", "0.125"),  # nobody groups after a lone zero
        ("42,310.5", "42310.5"),
        ("42.310,5", "42310.5"),
        ("1,234,567", "1234567"),
        ("1.234.567", "1234567"),
        ("1,234,567.8", "1234567.8"),
        ("42 310.5", "42310.5"),
        ("42\u202f310,5", "42310.5"),
        ("42'310", "42310"),
        ("42\u2019310", "42310"),
        ("  7 ", "7"),
        (".5", "0.5"),
        (",5", "0.5"),
        ("5.", "5"),
        ("-40", "-40"),
        ("\u221240", "-40"),
        ("+3", "3"),
        ("\uff14\uff12", "42"),  # full-width digits
    ],
)
def test_parse_number_takes_comma_and_point(text: str, expected: str) -> None:
    assert parse_number(text) == Decimal(expected)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("42.310", "42310"),
        ("42,310", "42.310"),
        ("42310.5", "42310.5"),
        ("1.234.567,8", "1234567.8"),
        ("0.125", "0.125"),
    ],
)
def test_parse_number_with_decimal_comma_turns_the_marks(
    text: str, expected: str
) -> None:
    assert parse_number(text, decimal_comma=True) == Decimal(expected)


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", ".", ",", "-", "--5", "5-", "x", "1e5", "NaN", "inf", "0x10"),
        *("1 2", "1,23,456", "12,34.5", "1,5,3", "1.234,567.8", "1234,567,890"),
        *("\u0664\u0662", "\u00bd", "1" * 19, "1_000", "(5)"),
    ],
)
def test_parse_number_of_something_else_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(UnitError, match=r"42310 or 42,310\.5"):
        parse_number(text)


@given(st.text(max_size=20) | st.text("0123456789.,' -+/", max_size=20))
def test_parse_number_of_any_text_gives_a_number_or_our_error(text: str) -> None:
    with suppress(UnitError):
        assert parse_number(text).is_finite()


@given(st.decimals("-1e9", "1e9", places=2))
def test_parse_number_reads_what_show_number_writes(value: Decimal) -> None:
    assert parse_number(show_number(value, places=2)) == value


@pytest.mark.parametrize(
    ("text", "default", "value", "unit"),
    [
        ("42,310.5 mi", "mi", "42310.5", "mi"),
        ("42310", "mi", "42310", "mi"),
        ("68.000 km", "mi", "68", "km"),
        ("68,000km", "mi", "68000", "km"),
        ("120 ft-lb", "N·m", "120", "ft·lbf"),
        ("120 ft lbf", "N·m", "120", "ft·lbf"),
        ("120 lbf·ft", "N·m", "120", "ft·lbf"),
        ("120 ft.lbs.", "N·m", "120", "ft·lbf"),
        ("120 ft\u2011lb", "N·m", "120", "ft·lbf"),
        ("163 Nm", "ft·lbf", "163", "N·m"),
        ("163 N m", "ft·lbf", "163", "N·m"),
        ("163 n-m", "ft·lbf", "163", "N·m"),
        ("1440 in-lbs", "ft·lbf", "1440", "in·lbf"),
        ("80 PSI", "kPa", "80", "psi"),
        ("5,5 bar", "psi", "5.5", "bar"),
        ("-40 \u00baF", "°C", "-40", "°F"),
        ("20 \u2103", "°F", "20", "°C"),
        ("20 deg C", "°F", "20", "°C"),
        ("12 US gal", "L", "12", "gal"),
        ("12 gallons", "L", "12", "gal"),
        ("5/32", "1/32 in", "5", "1/32 in"),
        ("5/32 in", "mm", "5", "1/32 in"),
        ('5.5/32"', "in", "5.5", "1/32 in"),
        ("3 hrs", "h", "3", "h"),
        ("100 Ah", "Ah", "100", "Ah"),
    ],
)
def test_parse_measure_takes_the_usual_spellings(
    text: str, default: str, value: str, unit: str
) -> None:
    assert parse_measure(text, default) == Measure(Decimal(value), unit)


@pytest.mark.parametrize(
    ("text", "default", "message"),
    [
        ("90 furlong", "mi", "“furlong” isn't a known unit. Known units: mi, km,"),
        ("90 mi", "psi", "mi is a unit of length, psi one of pressure: enter the"),
        ("1/2 in", "mm", "“1/2 in” is a fraction. Enter it with decimals, like 0.5"),
        ("5 1/32 in", "mm", "“5 1” isn't a number"),
        ("mi", "mi", "“mi” isn't a number"),
        ("", "mi", "Enter a number"),
        ("5 mi extra", "mi", "“mi extra” isn't a known unit"),
    ],
)
def test_parse_measure_says_what_is_wrong(
    text: str, default: str, message: str
) -> None:
    with pytest.raises(UnitError) as caught:
        parse_measure(text, default)
    assert message in str(caught.value)


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        ("42310.5", "mi", "42,310.5 mi"),
        ("42310.25", "mi", "42,310.3 mi"),  # half up
        ("-0.25", "°C", "-0.3 °C"),
        ("42310.00", "mi", "42,310 mi"),
        ("1234567", "km", "1,234,567 km"),
        ("1E+3", "h", "1,000 h"),
        ("-0.04", "V", "0 V"),
        ("90", "ft-lb", "90 ft·lbf"),
        ("5", "1/32 in", "5/32 in"),
    ],
)
def test_show_groups_thousands_and_rounds_to_a_tenth(
    value: str, unit: str, shown: str
) -> None:
    assert show(Decimal(value), unit) == shown


def test_show_takes_other_places() -> None:
    assert show(Decimal("12.654"), "V", places=2) == "12.65 V"
    assert show(Decimal("1055.6"), "Btu", places=0) == "1,056 Btu"


@pytest.mark.parametrize("symbol", UNITS)
def test_parse_measure_reads_what_show_writes(symbol: str) -> None:
    shown = show(Decimal("1234.5"), symbol)
    assert parse_measure(shown, symbol) == Measure(Decimal("1234.5"), symbol)


def test_units_of_offers_the_units_of_a_quantity_in_order() -> None:
    assert units_of("temperature") == ("°F", "°C", "K", "°R")
    assert quantity_of("ft-lb") == "torque"
    assert find_unit("FT LBS") == "ft·lbf"
