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


# Who does a piece of work, by the library's word for them.
WHO_WORDS = {"owner": "You", "practiced_owner": "You, if handy", "shop": "Shop"}


def minutes_words(minutes: int) -> str:
    """`25 min`, and from two hours on `2 h`, `2 h 30 min`."""
    if minutes < 120:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"
