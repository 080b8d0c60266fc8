"""Strict reading of plain data (JSON, TOML): every refusal names the place and the key.

A `Fields` takes one object's values by key and in the end refuses what was not taken,
so that a slip in a key is never read as "not given".
"""

import re
from collections.abc import Collection, Iterable
from datetime import date
from decimal import Decimal
from difflib import get_close_matches

from maintenance.core.facts import FactError

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


class Fields:
    """One object of the data, read key by key."""

    def __init__(self, data: object, place: str) -> None:
        if not isinstance(data, dict):
            raise FactError(place, f"must be an object with keys, not {_shown(data)}")
        self.place = place
        self._data = data
        self._left = set(data)
        self._asked: list[str] = []

    def at(self, key: str) -> str:
        return f"{self.place}.{key}" if self.place else key

    def names(self) -> list[str]:
        return list(self._data)

    def has(self, key: str) -> bool:
        """Whether the key is there and not null."""
        return self._data.get(key) is not None

    def get(self, key: str) -> object:
        """The value, or None when the key is missing or null."""
        self._asked.append(key)
        self._left.discard(key)
        found: object = self._data.get(key)
        return found

    def take(self, key: str) -> object:
        """The value, which has to be there."""
        found = self.get(key)
        if found is None:
            raise FactError(self.place, f'needs "{key}"')
        return found

    def one_of(self, keys: Collection[str], what: str) -> str:
        """The one key of `keys` that is there."""
        given = [key for key in keys if self.has(key)]
        if len(given) != 1:
            names = ", ".join(f'"{key}"' for key in keys)
            raise FactError(self.place, f"needs {what}: exactly one of {names}")
        return given[0]

    def finish(self) -> None:
        """Refuse the keys that nobody asked for."""
        for key in sorted(self._left, key=str):
            close = get_close_matches(str(key), self._asked, n=1)
            known = f'did you mean "{close[0]}"?' if close else self._known()
            raise FactError(self.place, f'unknown key "{key}"; {known}')

    def _known(self) -> str:
        return "known are " + ", ".join(sorted(set(self._asked)))


def as_list(value: object, place: str) -> list[object]:
    if not isinstance(value, list):
        raise FactError(place, f"must be a list, not {_shown(value)}")
    return value


def as_text(value: object, place: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise FactError(place, f"must be a text, not {_shown(value)}")
    return value


def as_choice(value: object, place: str, known: Iterable[str]) -> str:
    names = sorted(known)
    if isinstance(value, str) and value in names:
        return value
    close = get_close_matches(value, names, n=1) if isinstance(value, str) else []
    hint = f'did you mean "{close[0]}"?' if close else f"known are {', '.join(names)}"
    raise FactError(place, f"{_shown(value)} is not known; {hint}")


def as_flag(value: object, place: str) -> bool:
    if not isinstance(value, bool):
        raise FactError(place, f"must be true or false, not {_shown(value)}")
    return value


def as_number(value: object, place: str) -> Decimal:
    """A finite number; text and true/false are none."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise FactError(place, f"must be a number, not {_shown(value)}")
    number = Decimal(str(value))
    if not number.is_finite():
        raise FactError(place, f"{value} isn't a number to count with")
    return number


def as_amount(value: object, place: str, low: int, high: int, unit: str) -> Decimal:
    """A number from `low` to `high`; the refusal states the range."""
    number = as_number(value, place)
    if not low <= number <= high:
        raise FactError(
            place, f"{number} can't be right: enter {low} to {high:,} {unit}"
        )
    return number


def as_count(value: object, place: str, low: int, high: int, unit: str) -> int:
    """A whole number from `low` to `high`; the refusal states the range."""
    number = as_amount(value, place, low, high, unit)
    if number != int(number):
        raise FactError(place, f"must be a whole number of {unit}, not {number}")
    return int(number)


def as_day(value: object, place: str) -> date:
    """A day as `2026-05-04`. A date that the data format knows itself is taken."""
    if isinstance(value, date):
        return _plausible(date(value.year, value.month, value.day), place)
    if isinstance(value, str) and _DAY.fullmatch(value):
        try:
            day = date.fromisoformat(value)
        except ValueError:
            raise FactError(place, f'"{value}" is not in the calendar') from None
        return _plausible(day, place)
    raise FactError(place, f"must be a day like 2026-05-04, not {_shown(value)}")


def _plausible(day: date, place: str) -> date:
    if not 1900 <= day.year <= 2200:
        raise FactError(place, f"{day} can't be right: enter a year from 1900 to 2200")
    return day


def _shown(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if value is None or isinstance(value, int | float | Decimal | date):
        return "null" if value is None else str(value)
    return "a list" if isinstance(value, list) else "an object"
