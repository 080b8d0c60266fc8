"""The links of the header.

A page takes its place here by its URL name alone, so that this app need not know which
app serves it. A name that no URL answers to yet gives no link.
"""

from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse

PAGES = (
    ("due", "Due"),
    ("rigs", "Rigs"),
    ("log", "Log"),
    ("storage", "Storage"),
    ("trips", "Trips"),
    ("walkrounds", "Walk-round"),
    ("trouble", "Trouble"),
    ("bench", "Bench"),
    ("packets", "Packets"),
    ("mail", "Mail"),
    ("household", "Household"),
)


@dataclass(frozen=True, slots=True)
class Link:
    """`current` is the value of aria-current: `page`, `true` (below it) or nothing."""

    label: str
    url: str
    current: str = ""


def url_or_none(name: str) -> str | None:
    try:
        return reverse(name)
    except NoReverseMatch:
        return None


def links(path: str) -> list[Link]:
    """The header's links as seen from the page at `path`."""
    found = [(label, url) for name, label in PAGES if (url := url_or_none(name))]
    above = [url for _, url in found if url != "/" and path.startswith(url)]
    nearest = path if path == "/" else max(above, key=len, default="")
    return [
        Link(label, url, _current(url, path) if url == nearest else "")
        for label, url in found
    ]


def _current(url: str, path: str) -> str:
    return "page" if url == path else "true"
