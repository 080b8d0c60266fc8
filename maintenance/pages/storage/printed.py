"""The storage sheet on paper."""

from typing import Any

from django.template.loader import render_to_string

from maintenance.packets.history.build import LETTER


def printed_stay(context: dict[str, Any]) -> str:
    """Whole HTML with its style inside; it loads nothing."""
    household = context["rig"].household
    paper = "letter" if household.currency in LETTER else "a4"
    more = {"household": household, "paper": paper}
    return render_to_string("pages/print/stay.html", context | more)
