"""Day or night, where somebody chose: kept in the browser, put into the page by us."""

from django.http import HttpRequest

COOKIE = "theme"
THEMES = ("day", "night")
KEPT = 2 * 365 * 24 * 3600  # seconds


def chosen_theme(request: HttpRequest | None) -> str:
    """Nothing, where the system says."""
    chosen = getattr(request, "COOKIES", {}).get(COOKIE, "")
    return chosen if chosen in THEMES else ""
