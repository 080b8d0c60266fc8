"""Notices of what was found: once to whoever drives, then like what is overdue."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from maintenance.core.notices import (
    FindingTold,
    Person,
    finding_notices,
    next_finding_day,
)

TODAY = date(2026, 5, 10)
DAY = timedelta(days=1)
ANN, BEN = Person(1, drives=True), Person(2)


def raised(told, day, findings=(7,)) -> list[FindingTold]:
    return list(finding_notices(findings, [ANN, BEN], told, as_of=day))


def test_finding_then_told_once_to_whoever_drives():
    first = raised([], TODAY)

    assert first == [FindingTold(7, 1, 0, TODAY)]
    assert raised(first, TODAY) == []


def test_finding_then_told_weekly_and_then_monthly():
    told: list[FindingTold] = []
    for days in range(100):
        told += raised(told, TODAY + days * DAY)

    gone = [(row.on - TODAY).days for row in told]
    assert gone == [0, 7, 14, 21, 28, 58, 88]
    assert [row.number for row in told] == list(range(7))


def test_finding_after_a_silence_then_only_the_latest_repeat():
    first = raised([], TODAY)

    assert [row.number for row in raised(first, TODAY + 22 * DAY)] == [3]


def test_finding_when_the_clock_went_back_then_nothing():
    assert raised(raised([], TODAY), TODAY - 9 * DAY) == []


def test_no_finding_then_no_day():
    assert next_finding_day([], as_of=TODAY) == date.max


@given(st.integers(0, 200))
def test_next_day_then_nothing_before_it_and_something_on_it(days):
    told: list[FindingTold] = []
    for gone in range(days + 1):
        told += raised(told, TODAY + gone * DAY)
    today = TODAY + days * DAY

    day = next_finding_day(told, as_of=today)

    between = (day - today).days
    assert all(not raised(told, today + n * DAY) for n in range(1, between))
    assert len(raised(told, day)) == 1
