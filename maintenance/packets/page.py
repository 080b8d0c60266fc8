"""From a history to the HTML that is printed."""

from django.template.loader import render_to_string
from django.utils.dates import MONTHS_3

from maintenance.packets.history.model import History


def history_page(history: History, *, back_url: str = "") -> str:
    """The whole page with its style sheet inside: it loads nothing. `back_url` makes
    it a preview."""
    context = {
        "history": history,
        "months": [str(name).capitalize() for name in MONTHS_3.values()],
        "back_url": back_url,
    }
    return render_to_string("packets/print/history.html", context)
