"""Days in cells: ISO, by numbers in either order, with the month's name, by number."""

import re
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from maintenance.core.tables.text import Cell

DayOrder = Literal["dmy", "mdy"]

# Day numbers of spreadsheets: day 1 is 1 January 1900, and the day before 1 March 1900
# is counted although it never was (ECMA-376 part 1, 18.17.4.1); or from 1 Jan 1904.
_SINCE_1900 = date(1899, 12, 30)
_SINCE_1904 = date(1904, 1, 1)
_FIRST_SERIAL, _LAST_SERIAL = 20_000, 60_000  # 1954 to 2064

_NAMES = "jan feb mar apr may jun jul aug sep oct nov dec"
_MONTHS = {name: n for n, name in enumerate(_NAMES.split(), start=1)}
_TIME = re.compile(r"[T ]+\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?( ?[AaPp]\.?[Mm]\.?)?Z?$")
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_COMPACT = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})")
_TWO = re.compile(r"(\d{1,2})[-/. ]+(\d{1,2})[-/. ]+(\d{4}|\d{2})")
_DAY_FIRST = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?[-. ]+([a-z]{3,9})\.?[-, ]+(\d{4}|\d{2})"
)
_MONTH_FIRST = re.compile(
    r"([a-z]{3,9})\.?[- ]+(\d{1,2})(?:st|nd|rd|th)?[-, ]+(\d{4}|\d{2})"
)


def day_of(
    cell: Cell, *, order: DayOrder | None, since_1904: bool = False
) -> date | None:
    """The day that a cell names, or None where it names none.

    `order` is for days written as three numbers that do not begin with the year. Years
    of two digits: 70 to 99 lie in the last century.
    """
    if isinstance(cell, Decimal):
        return _serial(cell, since_1904)
    text = _TIME.sub("", cell.strip()).strip().lower()
    for pattern, make in _READERS:
        match = pattern.fullmatch(text)
        if match:
            return make(match)
    match = _TWO.fullmatch(text)
    if match:
        return _of_two(match, order) if order else _either(match)
    return _serial(Decimal(text), since_1904) if re.fullmatch(r"\d{5}", text) else None


def open_days(cells: Iterable[Cell]) -> tuple[DayOrder | None, bool, list[str]]:
    """The order of day and month as the cells tell it; whether that must be asked; up
    to two examples to ask with.

    One cell that is a day in one order only tells it for all. Asked where no cell
    does, or cells contradict each other; the examples then are one of each.
    """
    only: dict[DayOrder, str] = {}
    doubtful: dict[str, None] = {}
    for cell in cells:
        match = _counteds(cell)
        if match is None:
            continue
        by_day, by_month = _of_two(match, "dmy"), _of_two(match, "mdy")
        if by_day and by_month:
            if by_day != by_month:
                doubtful.setdefault(match[0])
        elif by_day:
            only.setdefault("dmy", match[0])
        elif by_month:
            only.setdefault("mdy", match[0])
    if len(only) == 2:
        return None, True, list(only.values())
    if only:
        return next(iter(only)), False, []
    return None, bool(doubtful), list(doubtful)[:2]


def _counteds(cell: Cell) -> re.Match[str] | None:
    if not isinstance(cell, str):
        return None
    return _TWO.fullmatch(_TIME.sub("", cell.strip()))


def _of_two(match: re.Match[str], order: DayOrder) -> date | None:
    first, second, year = int(match[1]), int(match[2]), _year(match[3])
    day, month = (first, second) if order == "dmy" else (second, first)
    return _date(year, month, day)


def _either(match: re.Match[str]) -> date | None:
    """Only where both orders name the same day."""
    by_day, by_month = _of_two(match, "dmy"), _of_two(match, "mdy")
    return by_day if by_day == by_month else None


def _serial(value: Decimal, since_1904: bool) -> date | None:
    if not (value.is_finite() and _FIRST_SERIAL <= value <= _LAST_SERIAL):
        return None
    start = _SINCE_1904 if since_1904 else _SINCE_1900
    return start + timedelta(days=int(value))


def _year(text: str) -> int:
    year = int(text)
    if len(text) > 2:
        return year
    return year + (1900 if year >= 70 else 2000)


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _month(text: str) -> int:
    return _MONTHS.get(text[:3], 0)


_READERS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], date | None]], ...] = (
    (_ISO, lambda m: _date(int(m[1]), int(m[2]), int(m[3]))),
    (_COMPACT, lambda m: _date(int(m[1]), int(m[2]), int(m[3]))),
    (_DAY_FIRST, lambda m: _date(_year(m[3]), _month(m[2]), int(m[1]))),
    (_MONTH_FIRST, lambda m: _date(_year(m[3]), _month(m[1]), int(m[2]))),
)
