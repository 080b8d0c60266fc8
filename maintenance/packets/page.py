"""From a history to the HTML that is printed."""

from pathlib import Path

from django.template.loader import render_to_string
from django.utils.dates import MONTHS_3
from django.utils.safestring import mark_safe

from .history import History

STYLE = Path(__file__).parent / "static" / "packets" / "history.css"


def history_page(history: History) -> str:
    """The whole page with its style sheet inside: it loads nothing."""
    css = mark_safe(STYLE.read_text(encoding="utf-8"))  # noqa: S308 - our own file
    return render_to_string(
        "packets/print/history.html", {"css": css, **page_context(history)}
    )


def page_context(history: History) -> dict[str, object]:
    """What the templates of the print want; the preview shows the same."""
    return {
        "history": history,
        "months": [str(MONTHS_3[n]).capitalize() for n in MONTHS_3],
    }
