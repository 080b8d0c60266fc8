"""Days as people remember them: a day, a month, or only the year."""

import re
from calendar import month_abbr
from dataclasses import dataclass
from datetime import date

from maintenance.core.dates import add_months, month_end
from maintenance.ui.local import day_order
from maintenance.ui.words import day_words, month_words

MONTHS = [name.casefold() for name in month_abbr[1:]]
NAME = r"(?P<name>[a-z]{3,9})\.?"
YEAR = r"(?P<year>(?:19|20|21)\d{2})"
# Month, day, year or day, month, year: as the household's country writes it.
FIGURES = re.compile(rf"(?P<a>\d{{1,2}})[/.](?P<b>\d{{1,2}})[/.]{YEAR}")
FORMS = tuple(
    re.compile(pattern)
    for pattern in (
        YEAR,
        rf"{YEAR}-(?P<month>\d{{1,2}})(?:-(?P<day>\d{{1,2}}))?",
        rf"(?P<month>\d{{1,2}})/{YEAR}",
        rf"{NAME}\s+(?:(?P<day>\d{{1,2}}),?\s+)?{YEAR}",
        rf"(?P<day>\d{{1,2}})\s+{NAME}\s+{YEAR}",
    )
)


@dataclass(frozen=True, slots=True)
class When:
    """From `first` to `last`: one day, or all of a month or a year."""

    first: date
    last: date

    @property
    def is_day(self) -> bool:
        return self.first == self.last

    @property
    def start(self) -> str:
        """As a case file has the start of a life: a day, or a month of which it leads
        to the end. Of a year it is the first month, so that it ends early, not late."""
        return self.first.isoformat()[: 10 if self.is_day else 7]


def parse_when(text: str) -> When:
    """`2024`, `5/2024`, `May 2024`, `2024-05`, `5/13/2024` (`13/5/2024` where the day
    comes first), `2024-05-13`, `13 May 2024`

    ValueError, fit for a user, for anything else.
    """
    plain = text.strip().casefold()
    if found := FIGURES.fullmatch(plain):
        return _day_of(int(found["a"]), int(found["b"]), int(found["year"]), text)
    for form in FORMS:
        if found := form.fullmatch(plain):
            return _when(found, text)
    raise ValueError(_not_understood(text))


def _day_of(a: int, b: int, year: int, text: str) -> When:
    """A day told in figures. Where the country has neither order, only one reading may
    fit; 5/4/2024 could be two days."""
    orders = {"month": [(a, b)], "day": [(b, a)]}.get(day_order(), [(a, b), (b, a)])
    found = {day for month, number in orders if (day := _day(year, month, number))}
    if not found:
        raise ValueError(f"“{text.strip()}” isn't a date. Check the day and month.")
    if len(found) > 1:
        raise ValueError(
            f"“{text.strip()}” could be two days. Write the month as a word, like "
            f"{day_words(min(found))}."
        )
    return When(min(found), min(found))


def _day(year: int, month: int, number: int) -> date | None:
    try:
        return date(year, month, number)
    except ValueError:
        return None


def _when(found: re.Match[str], text: str) -> When:
    parts = found.groupdict()
    year = int(parts["year"])
    month = _month(parts, text)
    try:
        if month is None:
            return When(date(year, 1, 1), date(year, 12, 31))
        first = date(year, month, int(parts.get("day") or 1))
    except ValueError:
        raise ValueError(
            f"“{text.strip()}” isn't a date. Check the day and month."
        ) from None
    return When(first, first if parts.get("day") else month_end(first))


def _month(parts: dict[str, str | None], text: str) -> int | None:
    if number := parts.get("month"):
        return int(number)
    name = parts.get("name")
    if not name:
        return None
    if name[:3] not in MONTHS:
        raise ValueError(_not_understood(text))
    return MONTHS.index(name[:3]) + 1


def _not_understood(text: str) -> str:
    example = date(2024, 5, 13)
    return (
        f"“{text.strip()}” isn't a date. Enter it like 2024, "
        f"{month_words(example, short=True)} or {day_words(example)}."
    )


def back_to(day: date, months: int, until: date) -> date:
    """The last day not after `until` that lies whole steps of months before `day`."""
    steps = 0
    while (found := add_months(day, -steps * months)) > until:
        steps += 1
    return found
