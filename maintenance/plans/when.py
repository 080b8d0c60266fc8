"""Days as people remember them: a day, a month, or only the year."""

import re
from calendar import month_abbr
from dataclasses import dataclass
from datetime import date

from maintenance.core.dates import add_months, month_end

MONTHS = [name.casefold() for name in month_abbr[1:]]
NAME = r"(?P<name>[a-z]{3,9})\.?"
YEAR = r"(?P<year>(?:19|20|21)\d{2})"
FORMS = tuple(
    re.compile(pattern)
    for pattern in (
        YEAR,
        rf"{YEAR}-(?P<month>\d{{1,2}})(?:-(?P<day>\d{{1,2}}))?",
        # As Americans write it: month, day, year.
        rf"(?P<month>\d{{1,2}})/(?:(?P<day>\d{{1,2}})/)?{YEAR}",
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
    """`2024`, `5/2024`, `May 2024`, `2024-05`, `5/13/2024`, `2024-05-13`, `13 May 2024`

    ValueError, fit for a user, for anything else.
    """
    plain = text.strip().casefold()
    for form in FORMS:
        if found := form.fullmatch(plain):
            return _when(found, text)
    raise ValueError(_not_understood(text))


def _when(found: re.Match[str], text: str) -> When:
    parts = found.groupdict()
    year = int(parts["year"])
    month = _month(parts, text)
    try:
        if month is None:
            return When(date(year, 1, 1), date(year, 12, 31))
        first = date(year, month, int(parts.get("day") or 1))
    except ValueError:
        raise ValueError(f"“{text.strip()}” is not in the calendar.") from None
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
    return (
        f"“{text.strip()}” is no day. Write it like 2024, 5/2024, May 2024 or "
        "5/13/2024."
    )


def back_to(day: date, months: int, until: date) -> date:
    """The last day not after `until` that lies whole steps of months before `day`."""
    steps = 0
    while (found := add_months(day, -steps * months)) > until:
        steps += 1
    return found
