"""Figures and causes by keyboard alone: reckoned while typed, found from anywhere."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests import builders
from tests.browser.conftest import LAPTOP, log_in


@pytest.fixture
def page(transactional_db: None, browser: Browser, live_server: Any) -> Iterator[Page]:
    keeper = builders.make_member(username="mara")
    builders.make_rig(keeper.household, name="Heron")
    context = browser.new_context(viewport=LAPTOP)  # type: ignore[arg-type]
    made = context.new_page()
    log_in(made, f"{live_server.url}/login/?next=/bench/hookup/", "Hookup capacity")
    yield made
    context.close()


def test_figure_is_reckoned_while_it_is_typed(page: Page) -> None:
    running = page.get_by_label("Running on one leg, in all")
    running.fill("5000")

    expect(page.get_by_text("too much: the breaker trips")).to_be_visible()
    expect(running).to_be_focused()

    running.fill("1500")
    expect(page.get_by_text("fits, but not for hours")).to_be_visible()


def test_figure_that_cannot_be_is_refused_beside_the_form(page: Page) -> None:
    page.get_by_label("Running on one leg, in all").fill("many")

    expect(page.get_by_text("Not calculated yet:")).to_be_visible()


def test_cause_is_found_by_keyboard_from_any_page(page: Page) -> None:
    page.locator("body").press("/")
    page.keyboard.type("smell")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Smell of sewer inside").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("alarm sounding")

    page.get_by_role("link", name="No, none of these").press("Enter")
    page.get_by_role("link", name="At the toilet").press("Enter")
    page.get_by_role("link", name="No, it sinks").press("Enter")

    expect(page.get_by_role("heading", level=1)).to_contain_text("seal is dirty")
    expect(page.get_by_text("At the toilet")).to_be_visible()


def test_slash_is_typed_where_somebody_types(page: Page) -> None:
    running = page.get_by_label("Running on one leg, in all")
    running.fill("")
    running.press("/")

    expect(running).to_be_focused()
    expect(running).to_have_value("/")
