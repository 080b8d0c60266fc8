"""Words that every page, mail and refusal writes alike."""

from datetime import date
from decimal import Decimal

from django.utils.formats import date_format


def day_words(day: date) -> str:
    """A day as people write it: `1 May 2026`."""
    return date_format(day, "j M Y")


def month_day_words(day: date) -> str:
    """A day near enough to need no year: `Dec 5`."""
    return date_format(day, "M j")


def money_words(amount: Decimal, currency: str = "") -> str:
    """An amount as people write it: `1,240.50 USD`, held together."""
    shown = f"{amount:,.2f}"
    return f"{shown}\N{NO-BREAK SPACE}{currency}" if currency else shown


def near_days_words(first: date, last: date | None = None, *, today: date) -> str:
    """A day or two, short: `Dec 5`, `Dec 5` to `8` with a dash, with the year where it
    is not within a year of today."""
    last = last or first
    near = abs((last - today).days) < 300
    start = date_format(first, "M j")
    if first == last:
        return start if near else date_format(first, "M j, Y")
    if (first.year, first.month) == (last.year, last.month):
        span = f"{start}\N{EN DASH}{last.day}"
    else:
        span = f"{start} \N{EN DASH} {date_format(last, 'M j')}"
    return span if near else f"{span}, {last.year}"


def minutes_words(minutes: int) -> str:
    """`25 min`, `1 h`, `1 h 15 min`."""
    hours, rest = divmod(minutes, 60)
    said = [f"{hours} h" if hours else "", f"{rest} min" if rest else ""]
    return " ".join(filter(None, said)) or "0 min"


# Who does a piece of work, by the library's word for them.
WHO_WORDS = {"owner": "You", "practiced_owner": "You, if handy", "shop": "Shop"}
