"""Paragraphs of a mail in plain text."""

import textwrap

from django import template

register = template.Library()

WIDTH = 72


@register.filter
def hang(text: str, lead: str) -> str:
    """Wrapped, behind `lead`, the further lines below its end: "- ", "1. ", "  "."""
    return textwrap.fill(
        str(text),
        WIDTH,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_long_words=False,
        break_on_hyphens=False,
    )


@register.filter
def underline(text: str) -> str:
    """A heading with a line below it as long as itself."""
    return f"{text}\n{'-' * len(str(text))}"
