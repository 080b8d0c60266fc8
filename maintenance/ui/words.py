"""Words that every page, mail and refusal writes alike."""

from datetime import date

from django.utils.formats import date_format


def day_words(day: date) -> str:
    """A day as people write it: `1 May 2026`."""
    return date_format(day, "j M Y")
