"""One visit of a page, and all that is looked at on it: loading is the costly part.

Axe judges a page in full by day on a laptop. At night, and on a phone, it judges again
what can differ there: the contrast of each look once, and what a phone shows otherwise.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.conftest import LAPTOP, PHONE

WIDTHS = (320, 360, 768, 1024, 1440)
LOOK = (Path(__file__).parent / "look.js").read_text()
WCAG = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    }
}
# What a phone shows otherwise: sizes, scrolling, and what stands in its bar alone.
ON_A_PHONE = {
    "runOnly": {
        "type": "rule",
        "values": [
            "target-size",
            "scrollable-region-focusable",
            "link-name",
            "button-name",
            "label",
            "aria-hidden-focus",
            "nested-interactive",
        ],
    }
}
CONTRAST = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}
OPEN_FOLDS = "document.querySelectorAll('details').forEach(one => one.open = true)"
HEIGHT = "document.documentElement.scrollHeight"
WIDTH = "document.documentElement.scrollWidth"


@dataclass
class Seen:
    """What was found: `breaches` by axe, `wide` beyond their window, `small` to touch
    on a phone; `tall` is the height of the page on a phone, folds closed."""

    path: str
    html: str = ""
    breaches: list[str] = field(default_factory=list)
    wide: list[str] = field(default_factory=list)
    small: list[str] = field(default_factory=list)
    tall: int = 0

    @property
    def faults(self) -> list[str]:
        return [*self.breaches, *self.wide, *(f"small: {one}" for one in self.small)]


def look_at(page: Page, path: str, status: int = 200) -> Seen:
    answer = page.goto(on_host(page, path))
    assert answer is not None
    assert answer.status == status, f"{path}: {answer.status}"
    page.wait_for_load_state("load")
    seen = Seen(path, answer.text())
    look_again(page, seen)
    return seen


def look_again(page: Page, seen: Seen) -> None:
    """At the page that is open."""
    page.evaluate(Axe().axe_script)
    page.evaluate(f"window.look = {LOOK}")
    page.emulate_media(color_scheme="light")
    page.set_viewport_size(LAPTOP)  # type: ignore[arg-type]
    with _whole(page):
        seen.breaches += _judged(page, "laptop, day", WCAG)
        page.emulate_media(color_scheme="dark")
        seen.breaches += _judged(page, "laptop, night", CONTRAST, alike=True)
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    seen.tall = page.evaluate(HEIGHT)
    with _whole(page):
        seen.breaches += _judged(page, "phone", ON_A_PHONE)
        seen.breaches += _judged(page, "phone, night", CONTRAST, alike=True)
        page.emulate_media(color_scheme="light")
        seen.breaches += _judged(page, "phone, day", CONTRAST, alike=True)
    page.evaluate(OPEN_FOLDS)
    seen.small += page.evaluate("look.small()")
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": LAPTOP["height"]})
        found = page.evaluate(WIDTH)
        if found > width:
            seen.wide.append(f"{found} px at {width}")
    page.set_viewport_size(LAPTOP)  # type: ignore[arg-type]


def _judged(
    page: Page, where: str, options: dict[str, object], *, alike: bool = False
) -> list[str]:
    found = page.evaluate(
        "([options, alike]) => look.breaches(options, alike)", [options, alike]
    )
    return [f"{where}: {one}" for one in found]


@contextmanager
def _whole(page: Page) -> Iterator[None]:
    """As tall as the page is: nothing lies half under the bar of a phone."""
    size = page.viewport_size
    assert size
    page.set_viewport_size({**size, "height": page.evaluate(HEIGHT) + 200})
    yield
    page.set_viewport_size(size)


def on_host(page: Page, path: str) -> str:
    now = urlsplit(page.url)
    return f"{now.scheme}://{now.netloc}{path}"
