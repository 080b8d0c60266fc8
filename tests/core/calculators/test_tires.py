"""Tires against 49 CFR 574.5 and the public tables of loads, speeds and plies."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.calculators import tires
from maintenance.core.calculators.tires import TireError

from .vectors import rows

CODES = rows("tin_date_test_vectors", "date_code", "comment")
LOAD_ROWS = rows("load_index", "load_index", "separate_tables_read_that_agree")
SPEED_ROWS = rows("speed_symbol", "symbol", "comment")
RANGE_ROWS = rows("load_range_ply", "load_range", "comment")


@pytest.mark.parametrize("row", CODES)
def test_date_code_reads_as_the_vector_says(row):
    if row["expected"] == "reject":
        with pytest.raises(TireError):
            tires.read_date_code(row["date_code"])
        return
    code = tires.read_date_code(row["date_code"])
    assert code.verdict == row["expected"]
    assert len(code.digits) == int(row["digits"])
    if not row["week_starts_sunday"]:
        assert code.weeks == ()
        return
    week = next(one for one in code.weeks if one.year == int(row["year"]))
    assert week.week == int(row["week"])
    assert week.start == date.fromisoformat(row["week_starts_sunday"])
    assert week.end == date.fromisoformat(row["week_ends_saturday"])


def test_years_with_53_weeks_are_those_of_the_rule():
    """Computed from 49 CFR 574.5(b)(3), not printed anywhere: Sunday weeks, the first
    full one is 01."""
    found = [year for year in range(2000, 2036) if tires.week_of(53, year)]
    assert found == [2000, 2006, 2012, 2017, 2023, 2028, 2034]


@given(st.dates(date(1971, 1, 10), date(2098, 1, 1)))
def test_every_day_lies_in_exactly_one_week(day):
    year = day.year
    near = [tires.week_of(w, y) for y in (year - 1, year) for w in range(1, 54)]
    holding = [week for week in near if week and week.start <= day <= week.end]
    assert len(holding) == 1
    assert holding[0].start.weekday() == 6
    assert holding[0].end - holding[0].start == timedelta(days=6)


@pytest.mark.parametrize("text", ["", "12", "12345", "1a25", "9925"])
def test_what_is_no_date_code_is_refused(text):
    with pytest.raises(TireError):
        tires.read_date_code(text)


@pytest.mark.parametrize(
    ("code", "years", "as_of", "reached"),
    [
        pytest.param("2716", 10, "2026-07-05", True, id="2716, ten years since 3 July"),
        pytest.param("2716", 10, "2026-07-02", False, id="2716, the day before"),
        pytest.param("0220", 6, "2026-01-10", False, id="0220 on 10 Jan, 9th StVO"),
        pytest.param("0220", 6, "2026-01-18", True, id="0220 on 18 Jan, 9th StVO"),
    ],
)
def test_age_counts_from_the_first_day_of_the_week(code, years, as_of, reached):
    start = tires.read_date_code(code).counts_from
    assert tires.has_reached(start, years, date.fromisoformat(as_of)) is reached


@pytest.mark.parametrize(
    ("as_of", "months"),
    [("2016-07-03", 0), ("2016-08-02", 0), ("2016-08-03", 1), ("2026-07-02", 119)],
)
def test_months_old_are_whole_months(as_of, months):
    start = date(2016, 7, 3)
    assert tires.months_old(start, date.fromisoformat(as_of)) == months


@pytest.mark.parametrize(
    ("typed", "form", "parts"),
    [
        # Lengths: 49 CFR 574.5(a)(1), (a)(2) and (b); the symbols are invented.
        ("DOT 1AB C23DEF 3819", "new", ("1AB", "C23DEF", "3819")),
        ("dot1abc23def3819", "new", ("1AB", "C23DEF", "3819")),
        ("1AB-3819", "retread", ("1AB", "", "3819")),
        ("AB CD EFG 0109", "older", ("AB", "CDEFG", "0109")),
        ("AB CD EFG 031", "older", ("AB", "CDEFG", "031")),
        ("ABCDEFG031", "older", ("AB", "CDEFG", "031")),
        ("AB C1D2 1 031", "older", ("AB", "C1D21", "031")),
        ("2716", "date_only", ("", "", "2716")),
    ],
)
def test_a_whole_number_is_split(typed, form, parts):
    found = tires.read_tin(typed)
    assert found.form == form
    assert (found.plant, found.maker, found.date.digits) == parts


@pytest.mark.parametrize(
    "typed",
    ["", "DOT", "AB CD", "1ABC23DEF38190", "1AB/C23DEF3819", "1ABC23DEF681"],
)
def test_a_number_of_another_form_is_refused(typed):
    with pytest.raises(TireError):
        tires.read_tin(typed)


@pytest.mark.parametrize("row", LOAD_ROWS)
def test_load_index(row):
    assert tires.load_of(int(row["load_index"])) == int(row["max_load_kg"])


def test_load_indexes_end_where_the_table_ends():
    assert len(tires.LOADS) == len(LOAD_ROWS)
    for outside in (51, 181):
        with pytest.raises(TireError):
            tires.load_of(outside)


@pytest.mark.parametrize("row", SPEED_ROWS)
def test_speed_symbol(row):
    symbol, speed = row["symbol"], row["max_kmh"]
    if speed.startswith(">"):
        assert tires.SPEEDS_ABOVE[symbol] == int(speed[1:])
        assert symbol not in tires.SPEEDS
    else:
        assert tires.SPEEDS[symbol] == int(speed)


@pytest.mark.parametrize("row", RANGE_ROWS)
def test_load_range(row):
    name = row["load_range"]
    printed = {row["ply_rating_chart_1"], row["ply_rating_chart_2"]} - {""}
    assert {str(plies) for plies in tires.PLIES[name]} == printed
    assert (name in tires.UNSURE_RANGES) is row["comment"].startswith("DISAGREE")


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("121/118S", tires.Service(121, 118, "S")),
        ("129/126 L", tires.Service(129, 126, "L")),
        ("97v", tires.Service(97, None, "V")),
        ("121", tires.Service(121)),
        ("95ZR", tires.Service(95, None, "ZR")),
        ("105(y)", tires.Service(105, None, "(Y)")),
    ],
)
def test_service_description_is_read(typed, expected):
    assert tires.read_service(typed) == expected


@pytest.mark.parametrize("typed", ["", "S", "121/", "121X", "40", "121/190", "1210"])
def test_what_is_no_service_description_is_refused(typed):
    with pytest.raises(TireError):
        tires.read_service(typed)


def test_passenger_tire_on_a_trailer_is_divided():
    """49 CFR 571.110 S4.2.2 and 571.120 S5.1.2, by NHTSA interpretation nht76-1.47."""
    one = tires.carries(tires.Service(97), dual_wheel=False, passenger=True)
    assert one.quantize(Decimal("0.1")) == Decimal("663.6")
    assert (one * 4).quantize(Decimal("0.1")) == Decimal("2654.5")


def test_a_dual_wheel_carries_by_the_second_index():
    service = tires.Service(121, 118)
    assert tires.carries(service, dual_wheel=True) == 1320  # load index 118
    assert tires.carries(tires.Service(121), dual_wheel=True) is None


def test_four_tires_of_3200_lb_fall_short_of_an_axle_rated_15000():
    """Published: an axle system of 15,000 lb on such tires has a GAWR of 12,800 lb."""
    pound = Decimal("0.45359237")
    margin = tires.axle_margin([3200 * pound] * 4, 15000 * pound)
    assert margin / pound == -2200
