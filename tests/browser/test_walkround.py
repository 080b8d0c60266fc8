"""A walk-around on a phone with a bad line: nothing is lost, nothing comes twice."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page, Request, Route, expect

from maintenance.findings.models import Finding, Photo
from maintenance.walkrounds import rounds
from maintenance.walkrounds.models import WalkRound, ZoneLook
from tests import builders
from tests.browser.conftest import PHONE, log_in

WORDS = "Sealant has lifted by two inches at the front seam."


@pytest.fixture
def walkround(transactional_db: None) -> WalkRound:
    keeper = builders.make_member(username="mara")
    rig = builders.make_rig(keeper.household, name="Long Haul")
    return rounds.start_walkround(rig, by=keeper, today=builders.TODAY)


def open_walkround(page: Page, server: Any, walkround: WalkRound) -> None:
    address = f"{server.url}/login/?next=/walkrounds/{walkround.pk}/"
    log_in(page, address, "Walk-around: Long Haul")


@pytest.fixture
def phone(browser: Browser, live_server: Any, walkround: WalkRound) -> Iterator[Page]:
    context = browser.new_context(viewport=PHONE, has_touch=True)  # type: ignore[arg-type]
    page = context.new_page()
    open_walkround(page, live_server, walkround)
    yield page
    context.close()


def zone(page: Page, key: str) -> Any:
    return page.locator(f"#zone-{key}")


def write(page: Page, key: str, words: str = WORDS) -> None:
    zone(page, key).locator(".walk-change > summary").tap()
    zone(page, key).get_by_label("What changed?").fill(words)


def keep(page: Page, key: str) -> None:
    zone(page, key).get_by_role("button", name="Save zone").tap()


def tap_same(page: Page, key: str) -> None:
    zone(page, key).locator(".walk-same").tap()


def is_kept(page: Page, key: str) -> None:
    expect(zone(page, key).locator("h2")).to_contain_text("looked at")


def storage(page: Page) -> list[str]:
    keys: list[str] = page.evaluate("Object.keys(localStorage)")
    return [key for key in keys if key.startswith("walk ")]


def test_zones_go_on_without_a_line_and_are_sent_when_it_is_back(phone: Page) -> None:
    phone.context.set_offline(True)
    write(phone, "roof")
    keep(phone, "roof")
    expect(zone(phone, "roof").locator("[data-state]")).to_contain_text(
        "Not sent yet. It's saved"
    )
    tap_same(phone, "front")
    expect(phone.locator("#walk-waiting")).to_have_text("2 zones aren't sent yet.")
    assert not ZoneLook.objects.exists()

    phone.context.set_offline(False)

    is_kept(phone, "roof")
    is_kept(phone, "front")
    expect(phone.locator("#walk-waiting")).to_be_hidden()
    expect(phone.locator("#walk-progress")).to_have_text("2 of 9 zones looked at")
    assert {(o.zone, o.words) for o in ZoneLook.objects.all()} == {
        ("roof", WORDS),
        ("front", ""),
    }
    assert storage(phone) == []


def test_words_survive_a_page_that_was_closed_without_a_line(
    phone: Page, live_server: Any, walkround: WalkRound
) -> None:
    phone.context.set_offline(True)
    write(phone, "roof")
    zone(phone, "roof").get_by_label("Something's wrong").fill("Front seam open")
    zone(phone, "roof").get_by_label("Don't drive or tow").check()
    keep(phone, "roof")
    expect(phone.locator("#walk-waiting")).to_be_visible()
    phone.close()

    phone_again = phone.context.new_page()
    phone.context.set_offline(False)
    phone_again.goto(f"{live_server.url}/walkrounds/{walkround.pk}/")

    is_kept(phone_again, "roof")
    assert ZoneLook.objects.get().words == WORDS
    assert Finding.objects.get().unfit


def test_words_not_sent_yet_are_put_back_and_wait_for_a_tap(phone: Page) -> None:
    write(phone, "roof")

    phone.reload()

    words = zone(phone, "roof").get_by_label("What changed?")
    expect(words).to_be_visible()
    expect(words).to_have_value(WORDS)
    assert not ZoneLook.objects.exists()


def test_answer_lost_on_the_way_makes_no_second_look(phone: Page) -> None:
    """The post arrives, its answer does not: the sending again must not double it."""
    tries: list[str] = []

    def lose_first(route: Route, request: Request) -> None:
        tries.append(request.url)
        if len(tries) == 1:
            route.fetch()
            route.abort("connectionreset")
        else:
            route.continue_()

    phone.route(re.compile("/zones/"), lose_first)
    write(phone, "roof")
    zone(phone, "roof").get_by_label("Something's wrong").fill("Front seam open")
    keep(phone, "roof")
    expect(phone.locator("#walk-waiting")).to_be_visible()
    assert ZoneLook.objects.count() == 1

    keep(phone, "roof")

    is_kept(phone, "roof")
    assert len(tries) == 2
    assert ZoneLook.objects.count() == 1
    assert Finding.objects.count() == 1
    assert storage(phone) == []


def test_server_that_fails_loses_nothing(phone: Page) -> None:
    phone.route(re.compile("/zones/"), lambda route: route.fulfill(status=502))
    write(phone, "roof")

    keep(phone, "roof")

    expect(zone(phone, "roof").locator("[data-state]")).to_contain_text("Not sent")
    expect(zone(phone, "roof").get_by_label("What changed?")).to_have_value(WORDS)
    assert len(storage(phone)) == 1


def test_who_is_logged_out_meanwhile_is_told_so_and_keeps_the_words(
    phone: Page,
) -> None:
    write(phone, "roof")
    cookies = phone.context.cookies()
    phone.context.clear_cookies(name="rigsite_session")

    keep(phone, "roof")
    expect(zone(phone, "roof").locator("[data-state]")).to_contain_text("log in")

    phone.context.add_cookies(cookies)
    phone.reload()
    is_kept(phone, "roof")
    assert ZoneLook.objects.get().words == WORDS


def test_photo_waits_with_its_words_for_the_line(phone: Page, tmp_path: Path) -> None:
    file = tmp_path / "IMG_0042.jpg"
    Image.new("RGB", (1600, 1200), "gray").save(file)
    phone.context.set_offline(True)
    write(phone, "roof")
    zone(phone, "roof").get_by_label("Photos").set_input_files(file)
    keep(phone, "roof")
    expect(phone.locator("#walk-waiting")).to_be_visible()

    phone.context.set_offline(False)

    is_kept(phone, "roof")
    expect(zone(phone, "roof").locator(".walk-now img")).to_be_visible()
    assert Photo.objects.count() == 1


def test_refusal_is_said_in_the_form_which_stays_as_it_was(phone: Page) -> None:
    write(phone, "roof")
    zone(phone, "roof").get_by_label("Don't drive or tow").check()

    keep(phone, "roof")

    expect(zone(phone, "roof").locator(".error")).to_have_text(
        "Enter what makes it unfit to travel."
    )
    expect(zone(phone, "roof").get_by_label("What changed?")).to_have_value(WORDS)
    expect(zone(phone, "roof").get_by_label("Something's wrong")).to_be_focused()


def test_tap_on_same_leaves_words_of_the_zone_that_are_not_sent(phone: Page) -> None:
    write(phone, "roof")

    tap_same(phone, "roof")

    is_kept(phone, "roof")
    expect(zone(phone, "roof").get_by_label("What changed?")).to_have_value(WORDS)


def test_without_script_the_form_comes_back_filled(
    browser: Browser, live_server: Any, walkround: WalkRound
) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    open_walkround(page, live_server, walkround)
    zone(page, "roof").locator(".walk-change > summary").click()
    zone(page, "roof").get_by_label("What changed?").fill(WORDS)
    zone(page, "roof").get_by_label("Don't drive or tow").check()

    zone(page, "roof").get_by_role("button", name="Save zone").click()
    expect(zone(page, "roof").get_by_label("What changed?")).to_have_value(WORDS)
    zone(page, "roof").get_by_label("Something's wrong").fill("Seam open")
    zone(page, "roof").get_by_role("button", name="Save zone").click()

    is_kept(page, "roof")
    assert Finding.objects.get().what == "Seam open"
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_walkround_passes_the_accessibility_scan_and_fits_a_phone(
    browser: Browser, live_server: Any, walkround: WalkRound, scheme: Any
) -> None:
    context = browser.new_context(viewport=PHONE, color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    open_walkround(page, live_server, walkround)
    zone(page, "roof").locator(".walk-change > summary").click()

    found = Axe().run(page)
    wide = page.evaluate("document.documentElement.scrollWidth")

    assert found.violations_count == 0, found.generate_report()
    assert wide <= PHONE["width"]
    context.close()


def test_one_tap_that_waits_goes_with_words_that_arrive_first(phone: Page) -> None:
    phone.context.set_offline(True)
    write(phone, "roof")
    keep(phone, "roof")
    expect(phone.locator("#walk-waiting")).to_be_visible()
    tap_same(phone, "roof")

    phone.context.set_offline(False)

    is_kept(phone, "roof")
    expect(phone.locator("#walk-waiting")).to_be_hidden()
    assert ZoneLook.objects.get().words == WORDS
    assert storage(phone) == []
