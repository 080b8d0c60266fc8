"""Calendar steps, seasons and days in use: tables of edges."""

from datetime import date

import pytest

from maintenance.core.dates import (
    InUse,
    add_months,
    add_span,
    latest_season,
    month_end,
    season_of,
    stay_end,
)
from maintenance.core.facts import Span, Stay

D = date.fromisoformat


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        ("2026-01-31", 1, "2026-02-28"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2025-12-31", 2, "2026-02-28"),
        ("2025-12-31", 1, "2026-01-31"),
        ("2026-10-31", 1, "2026-11-30"),
        ("2026-05-15", 0, "2026-05-15"),
        ("2000-02-29", 1200, "2100-02-28"),  # 2100 is no leap year
    ],
)
def test_add_months_clamps_the_day(day: str, months: int, expected: str) -> None:
    assert add_months(D(day), months) == D(expected)


@pytest.mark.parametrize(
    ("day", "span", "expected"),
    [
        ("2025-12-31", Span(days=1), "2026-01-01"),
        ("2024-02-28", Span(days=2), "2024-03-01"),
        ("2026-01-31", Span(months=1, days=1), "2026-03-01"),
        # Days when the clocks change in America/Denver are days like any other.
        ("2026-03-07", Span(days=2), "2026-03-09"),
        ("2026-10-31", Span(days=2), "2026-11-02"),
    ],
)
def test_add_span_goes_by_calendar_days(day: str, span: Span, expected: str) -> None:
    assert add_span(D(day), span) == D(expected)


def test_month_end_knows_leap_years() -> None:
    assert month_end(D("2024-02-01")) == D("2024-02-29")
    assert month_end(D("2026-02-01")) == D("2026-02-28")
    assert month_end(D("2026-12-05")) == D("2026-12-31")


@pytest.mark.parametrize(
    ("year", "ends", "expected"),
    [
        (2026, ((3, 15), (5, 31)), ("2026-03-15", "2026-05-31")),
        (2026, ((11, 1), (1, 31)), ("2026-11-01", "2027-01-31")),
        (2026, ((2, 1), (2, 29)), ("2026-02-01", "2026-02-28")),
        (2028, ((2, 1), (2, 29)), ("2028-02-01", "2028-02-29")),
        (2026, ((6, 1), (6, 1)), ("2026-06-01", "2026-06-01")),
    ],
)
def test_season_of_a_year(year: int, ends: tuple, expected: tuple[str, str]) -> None:
    assert season_of(year, ends) == (D(expected[0]), D(expected[1]))


@pytest.mark.parametrize(
    ("day", "opens"),
    [
        ("2026-03-14", "2025-03-15"),
        ("2026-03-15", "2026-03-15"),
        ("2026-12-31", "2026-03-15"),
        ("2027-01-01", "2026-03-15"),
    ],
)
def test_latest_season_opened_on_or_before(day: str, opens: str) -> None:
    assert latest_season(D(day), ((3, 15), (5, 31)))[0] == D(opens)


WINTER = Stay(D("2025-11-05"), D("2026-03-20"))
AS_OF = D("2026-05-04")


@pytest.mark.parametrize(
    ("start", "end", "days"),
    [
        ("2025-10-01", "2026-04-01", 47),  # 182 days, 135 of them in the stay
        ("2025-11-05", "2026-03-20", 0),
        ("2025-11-04", "2025-11-05", 1),
        ("2026-03-19", "2026-03-20", 0),  # the last night
        ("2026-03-20", "2026-03-21", 1),  # the day of leaving counts
        ("2025-12-01", "2026-01-01", 0),
        ("2026-05-01", "2026-05-01", 0),
    ],
)
def test_days_in_use(start: str, end: str, days: int) -> None:
    assert InUse([WINTER], AS_OF).days(D(start), D(end)) == days


@pytest.mark.parametrize(
    ("day", "days", "expected"),
    [
        ("2025-10-01", 34, "2025-11-04"),
        ("2025-10-01", 35, "2025-11-05"),
        ("2025-10-01", 36, "2026-03-21"),
        ("2025-11-05", 1, "2026-03-21"),
        ("2026-01-01", 10, "2026-03-30"),
        ("2026-03-20", 10, "2026-03-30"),
    ],
)
def test_add_days_in_use(day: str, days: int, expected: str) -> None:
    in_use = InUse([WINTER], AS_OF)
    assert in_use.add(D(day), days) == D(expected)
    assert in_use.days(D(day), D(expected)) == days


def test_overlapping_stays_count_once() -> None:
    stays = [Stay(D("2026-01-01"), D("2026-01-20")), Stay(D("2026-01-10"), AS_OF)]
    assert InUse(stays, AS_OF).days(D("2025-12-31"), D("2026-05-05")) == 2


def test_a_stay_without_an_end_never_ends() -> None:
    in_use = InUse([Stay(D("2026-04-01"))], AS_OF)
    assert in_use.add(D("2026-03-01"), 31) == D("2026-04-01")
    assert in_use.add(D("2026-03-01"), 32) is None


@pytest.mark.parametrize(
    ("planned", "expected"),
    [("2026-05-03", None), ("2026-05-04", "2026-05-04"), (None, None)],
)
def test_a_planned_end_that_has_passed_is_void(
    planned: str | None, expected: str | None
) -> None:
    stay = Stay(D("2026-04-01"), None, D(planned) if planned else None)
    assert stay_end(stay, AS_OF) == (D(expected) if expected else None)
