"""When spring and autumn work is to be done: by frost, or by rain where none comes."""

from datetime import date, timedelta

from maintenance.core.dates import MonthDay

Season = tuple[MonthDay, MonthDay]

# How long a season's work may take; our own choice, about that of the default seasons.
LENGTH = timedelta(weeks=11)


def seasons_around(begins: MonthDay, ends: MonthDay) -> tuple[Season, Season]:
    """Spring and autumn from the first and last day of the usual frost.

    Spring runs for eleven weeks from the day after the last frost, autumn for eleven
    weeks up to the day before the first one. That holds on both halves of the earth,
    as frost may begin in May and end in September. Where no frost comes, the wet season
    takes its place: “autumn” work (seal, close, put away) comes before the rain and
    “spring” work after it.
    """
    return _from(_after(ends)), _until(_before(begins))


def _from(first: date) -> Season:
    return _month_day(first), _month_day(first + LENGTH)


def _until(last: date) -> Season:
    return _month_day(last - LENGTH), _month_day(last)


def _after(day: MonthDay) -> date:
    return _in_a_year(day) + timedelta(days=1)


def _before(day: MonthDay) -> date:
    return _in_a_year(day) - timedelta(days=1)


def _in_a_year(day: MonthDay) -> date:
    """In a year without a 29 February, so that the answer is the same every year."""
    month, number = day
    return date(2025, month, min(number, 28) if month == 2 else number)


def _month_day(day: date) -> MonthDay:
    return day.month, day.day
