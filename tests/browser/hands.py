"""Ways to use a page: a mouse, the keyboard alone, a thumb on a phone, and a browser
without script. The same story is told by each."""

import re
from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import LAPTOP, PHONE

Label = str | Locator
MOST_TABS = 250  # until a page has led nowhere


class Mouse:
    context: dict[str, Any] = {"viewport": LAPTOP}  # noqa: RUF012  (read only)

    def __init__(self, page: Page) -> None:
        self.page = page

    def field(self, label: Label) -> Locator:
        """By words of its label; one with its star is said in full."""
        if isinstance(label, Locator):
            return label
        return self.page.get_by_label(label, exact=label.endswith("*"))

    @property
    def record_button(self) -> Locator:
        """Of the form of work done."""
        return self.page.get_by_role("button", name="Record it")

    def press(self, target: Locator) -> None:
        target.click()

    def fill(self, label: Label, text: str) -> None:
        self.field(label).fill(text)

    def choose(self, label: Label, option: str) -> None:
        self.field(label).select_option(label=option)

    def tick(self, label: Label) -> None:
        self.field(label).check()

    def unfold(self, words: str) -> None:
        self.press(self.page.locator("summary", has_text=words))

    def go(self, place: str) -> None:
        """To a place by the links of the frame."""
        places = self.page.get_by_role("navigation", name="Pages")
        self.follow(places.get_by_role("link", name=place, exact=True))

    def open_menu(self, household: str, link: str) -> None:
        """Behind the household's name."""
        self.press(self.page.get_by_role("button", name=household))
        self.follow(self.page.locator("#house-menu").get_by_role("link", name=link))

    def follow(self, link: Locator) -> None:
        """Press it, and be there."""
        address = link.get_attribute("href") or ""
        self.press(link)
        expect(self.page).to_have_url(re.compile(f"{re.escape(address)}$"))
        self.page.wait_for_load_state("load")


class Plain(Mouse):
    """No script: what it hurries goes by buttons."""

    context = Mouse.context | {"java_script_enabled": False}


class Keyboard(Mouse):
    def press(self, target: Locator) -> None:
        self.reach(target)
        self.page.keyboard.press("Enter")

    def fill(self, label: Label, text: str) -> None:
        field = self.field(label)
        self.reach(field)
        if field.get_attribute("type") == "date":  # typed by parts: month, day, year
            year, month, day = text.split("-")
            self.page.keyboard.type(month + day + year)
        else:
            self.page.keyboard.press("Control+A")
            self.page.keyboard.type(text)

    def choose(self, label: Label, option: str) -> None:
        field = self.field(label)
        self.reach(field)
        self.page.keyboard.press("Home")
        chosen = "one => one.selectedOptions[0]?.label.trim()"
        for _ in range(len(field.locator("option").all())):
            if field.evaluate(chosen) == option:
                return
            self.page.keyboard.press("ArrowDown")
        assert field.evaluate(chosen) == option

    def tick(self, label: Label) -> None:
        self.reach(self.field(label))
        self.page.keyboard.press("Space")
        expect(self.field(label)).to_be_checked()

    def reach(self, target: Locator) -> None:
        """By Tab alone, from wherever it is."""
        expect(target).to_be_attached()
        for _ in range(MOST_TABS):
            if target.evaluate("one => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab never reaches {target}")


class Thumb(Mouse):
    context = {"viewport": PHONE, "has_touch": True}  # noqa: RUF012

    @property
    def record_button(self) -> Locator:
        bar = self.page.get_by_role("region", name="What to do here")
        return bar.get_by_role("button", name="Record")

    def press(self, target: Locator) -> None:
        target.tap()

    def go(self, place: str) -> None:
        bar = self.page.get_by_role("navigation", name="Places")
        link = bar.get_by_role("link", name=place, exact=True)
        if link.count():
            self.follow(link)
        else:  # there is no room for it in the bar
            self.open_menu("Alder Lane", place)
