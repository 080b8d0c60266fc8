"""The work sheet under a rig: ticks and values are kept as they are made."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from maintenance.plans.models import PlanItem
from maintenance.plans.services import take_on
from tests import builders
from tests.browser.conftest import PHONE, log_in


@pytest.fixture
def item(transactional_db: None) -> PlanItem:
    keeper = builders.make_member(username="mara")
    rig = builders.make_rig(keeper.household)
    made = take_on(rig, by=keeper, today=date(2026, 5, 4), keys=["battery_rest_volts"])
    return made[0]


@pytest.fixture(params=["light", "dark"])
def phone(request: Any, browser: Browser, live_server: Any) -> Iterator[Page]:
    context = browser.new_context(
        viewport=PHONE,  # type: ignore[arg-type]
        has_touch=True,
        color_scheme=request.param,
    )
    page = context.new_page()
    yield page
    context.close()


def open_item(page: Page, server: Any, item: PlanItem) -> None:
    log_in(page, f"{server.url}/login/?next=/items/{item.pk}/", item.title)


def boxes(page: Page) -> Any:
    return page.locator(".check-steps input")


def test_ticks_and_values_survive_a_reload_and_reach_the_record(
    phone: Page, live_server: Any, item: PlanItem
) -> None:
    open_item(phone, live_server, item)
    boxes(phone).nth(0).tap()
    expect(phone.locator("#sheet-progress")).to_contain_text("1 of ")
    volts = phone.get_by_label("Rested voltage")
    volts.fill("12.1")
    volts.blur()
    expect(phone.get_by_text("below the 12.4 V limit")).to_be_visible()

    phone.reload()

    expect(boxes(phone).nth(0)).to_be_checked()
    expect(volts).to_have_value("12.1")
    found = Axe().run(phone)
    assert found.violations_count == 0, found.generate_report()
    phone.get_by_role("button", name="Record it").tap()
    expect(phone.locator("#id_measured-m_rested_voltage")).to_have_value("12.1")
    expect(phone.get_by_text("Outside its limit:")).to_be_visible()


def test_wrong_value_says_so_in_its_place(
    phone: Page, live_server: Any, item: PlanItem
) -> None:
    open_item(phone, live_server, item)

    volts = phone.get_by_label("Rested voltage")
    volts.fill("full")
    volts.blur()

    expect(phone.locator("#said-m_rested_voltage")).to_contain_text("isn't a number")


def test_tick_and_value_without_a_line_stay_and_are_sent_when_it_is_back(
    phone: Page, live_server: Any, item: PlanItem
) -> None:
    open_item(phone, live_server, item)
    volts = phone.get_by_label("Rested voltage")
    phone.context.set_offline(True)

    boxes(phone).nth(1).tap()
    volts.fill("12.1")
    volts.blur()
    expect(phone.locator("[data-not-kept]")).to_be_in_viewport()
    expect(boxes(phone).nth(1)).to_be_checked()
    phone.context.set_offline(False)
    expect(phone.locator("[data-not-kept]")).to_be_hidden()

    phone.reload()
    expect(boxes(phone).nth(1)).to_be_checked()
    expect(volts).to_have_value("12.1")
    assert phone.evaluate("Object.keys(localStorage)") == []


def test_tick_survives_a_page_that_was_closed_without_a_line(
    phone: Page, live_server: Any, item: PlanItem
) -> None:
    open_item(phone, live_server, item)
    phone.context.set_offline(True)
    boxes(phone).nth(1).tap()
    expect(phone.locator("[data-not-kept]")).to_be_visible()
    phone.close()

    again = phone.context.new_page()
    again.context.set_offline(False)
    again.goto(f"{live_server.url}/items/{item.pk}/")

    expect(boxes(again).nth(1)).to_be_checked()
    expect(again.locator("#sheet-progress")).to_contain_text("1 of ")
    expect(again.locator("[data-not-kept]")).to_be_hidden()


def test_target_of_a_step_is_as_large_as_a_glove_needs(
    phone: Page, live_server: Any, item: PlanItem
) -> None:
    """WCAG 2.2 asks for 24 CSS pixels (2.5.8); a glove wants 44 and more."""
    open_item(phone, live_server, item)

    rows = phone.locator(".check-steps label")
    sizes = [rows.nth(n).bounding_box() for n in range(rows.count())]

    assert sizes
    assert all(size and size["height"] >= 44 and size["width"] > 300 for size in sizes)
