"""Words that every page, mail and refusal writes alike, in the household's local form
(`local.py`)."""

import re
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache

from babel import Locale
from babel.dates import format_date, format_interval, format_skeleton, format_time
from babel.numbers import format_currency, get_currency_name, get_currency_symbol
from django.utils import timezone

from maintenance.core.words import counted

from .local import FALL, country, locale

DAYS_OF_A_WEEK = 7
MONTHS_OF_A_YEAR = 12
MOST_DAYS = 60  # more of them are told in months
# The years before it have 365 days, so that so many days are a whole year.
_BEFORE_A_LEAP_YEAR = date(2024, 1, 1)


def day_words(day: date) -> str:
    """A day as people write it: `Nov 30, 2026`; that of a moment in the household's
    zone."""
    day = _here(day).date() if isinstance(day, datetime) else day
    return _date(day, "medium", locale())


def long_day_words(day: date) -> str:
    """A day as a title: `Mon, November 30`."""
    return _date(day, "MMMMEEEEd", locale())


def month_day_words(day: date) -> str:
    """A day near enough to need no year: `Dec 5`."""
    return _date(day, "MMMd", locale())


def month_words(day: date, *, short: bool = False) -> str:
    """`November 2026`, or `Nov 2026`."""
    return _date(day, "yMMM" if short else "yMMMM", locale())


def month_name(day: date, *, short: bool = False) -> str:
    """`November`, or `Nov`."""
    return _date(day, "LLL" if short else "LLLL", locale())


def clock_words(moment: datetime) -> str:
    """`2:05 PM` or `14:05`, by the household's zone."""
    return clock_words_of(_here(moment).time())


def hour_words(hour: int) -> str:
    """`7:00 AM`."""
    return clock_words_of(time(hour))


def moment_words(moment: datetime) -> str:
    """`Nov 30, 2026, 2:05 PM`."""
    return f"{day_words(moment)}, {clock_words(moment)}"


def clock_words_of(at: time) -> str:
    shown = format_time(at, "short", locale=locale())
    return shown.replace("\N{NARROW NO-BREAK SPACE}", " ")


def _here(moment: datetime) -> datetime:
    return timezone.localtime(moment) if timezone.is_aware(moment) else moment


def day_span_words(first: date, last: date | None = None) -> str:
    """`Dec 5` to `8, 2026` with a dash; one day where both are the same."""
    if last is None or first == last:
        return day_words(first)
    return _span(first, last, "yMMMd", locale())


def near_days_words(first: date, last: date | None = None, *, today: date) -> str:
    """A day or two, short: `Dec 5`, `Dec 5` to `8` with a dash, with the year where it
    is not within a year of today."""
    last = last or first
    if abs((last - today).days) >= 300:
        return day_span_words(first, last)
    if first == last:
        return month_day_words(first)
    return _span(first, last, "MMMd", locale())


# A page says the same few days in hundreds of rows.
@lru_cache(maxsize=4096)
def _date(day: date, form: str, english: Locale) -> str:
    if form in {"medium", "LLL", "LLLL"}:
        return format_date(day, form, locale=english)
    return format_skeleton(form, day, locale=english)


@lru_cache(maxsize=1024)
def _span(first: date, last: date, skeleton: str, english: Locale) -> str:
    shown = format_interval(first, last, skeleton, locale=english)
    of_a_month = (first.year, first.month) == (last.year, last.month)
    dash = "\N{EN DASH}" if of_a_month else " \N{EN DASH} "
    return re.sub(r"\s*\N{EN DASH}\s*", dash, shown)


def money_words(amount: Decimal | int, currency: str, *, cents: bool = True) -> str:
    """An amount as people write it: `$1,240.50`."""
    shown = format_currency(
        amount if cents else round(amount),
        currency,
        locale=locale(),
        currency_digits=cents,
        format=None if cents else _whole_money(locale()),
    )
    return shown.replace("\N{NARROW NO-BREAK SPACE}", "\N{NO-BREAK SPACE}")


def currency_symbol(currency: str) -> str:
    """`$` for a label of what is paid."""
    return str(get_currency_symbol(currency, locale=locale()))


def currency_name(currency: str) -> str:
    """`US dollars`."""
    return str(get_currency_name(currency, 2, locale=locale()))


@lru_cache
def _whole_money(english: Locale) -> str:
    """The country's pattern for an amount without cents."""
    pattern = english.currency_formats["standard"].pattern
    return re.sub(r"([#0])\.0+", r"\1", pattern)


def ago_words(day: date, today: date) -> str:
    """How long since, or until, in the largest unit that still says something: `today`,
    `5 days ago`, `in 3 weeks`, `6 years ago`."""
    gone = (today - day).days
    if abs(gone) <= 1:
        return {0: "today", 1: "yesterday", -1: "tomorrow"}[gone]
    words = long_words(min(day, today), max(day, today))
    return f"{words} ago" if gone > 0 else f"in {words}"


def long_words(first: date, last: date) -> str:
    """`5 days`, `3 weeks`, `7 months`, `6 years`: whole ones."""
    days = (last - first).days
    if days < 2 * DAYS_OF_A_WEEK:
        return counted(days, "day")
    months = (last.year - first.year) * MONTHS_OF_A_YEAR + last.month - first.month
    # The last day of a month is a whole month after any later day of one before.
    ends_month = (last + timedelta(days=1)).month != last.month
    months -= last.day < first.day and not ends_month
    if months < 2:
        return counted(days // DAYS_OF_A_WEEK, "week")
    if months < 2 * MONTHS_OF_A_YEAR and months != MONTHS_OF_A_YEAR:
        return counted(months, "month")
    return counted(months // MONTHS_OF_A_YEAR, "year")


def days_long_words(days: int) -> str:
    """A number of days, as long as that says something: `50 days`, `6 years`."""
    if days <= MOST_DAYS:
        return counted(days, "day")
    return long_words(_BEFORE_A_LEAP_YEAR - timedelta(days=days), _BEFORE_A_LEAP_YEAR)


def season_words(season: str) -> str:
    """`autumn` of the rules is fall in North America."""
    return "fall" if season == "autumn" and country() in FALL else season


def minutes_words(minutes: int) -> str:
    """`25 min`, `1 h`, `1 h 15 min`."""
    hours, rest = divmod(minutes, 60)
    said = [f"{hours} h" if hours else "", f"{rest} min" if rest else ""]
    return " ".join(filter(None, said)) or "0 min"


# Who does a piece of work, by the library's word for them.
WHO_WORDS = {"owner": "You", "practiced_owner": "You, if handy", "shop": "Shop"}
