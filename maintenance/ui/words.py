"""Words that every page, mail and refusal writes alike."""

from datetime import date
from decimal import Decimal

from django.utils.formats import date_format


def day_words(day: date) -> str:
    """A day as people write it: `1 May 2026`."""
    return date_format(day, "j M Y")


def money_words(amount: Decimal, currency: str = "") -> str:
    """An amount as people write it: `1,240.50 USD`, held together."""
    shown = f"{amount:,.2f}"
    return f"{shown}\N{NO-BREAK SPACE}{currency}" if currency else shown
